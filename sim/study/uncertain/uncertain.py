"""Runs over draws of what is uncertain: every policy through a few replications at each drawn site.

Draws and replications stay apart: each draw has its own weather, so that the spread between draws beyond the
spread within them is that of the inputs. The rows are the same for any number of workers.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from sim.errors import InputError, Interrupted
from sim.scenario.care import Policy
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values.variants import Site, Span, seed_of, sites, spans
from sim.study.runs.request import Design, Inputs, Request
from sim.study.runs.runner import StudyRunner, open_runner


@dataclass(frozen=True)
class Plan:
    """What every draw shares.

    Attributes
    ----------
    policies : tuple of Policy
        Ways of looking after the site.
    seed : int
        Root of chance, >= 0.
    years : int
        Length of a run [year], >= 1.
    replications : int
        Runs of each policy at a draw, >= 2.
    rain : RainRecord or None
        Recorded rain.
    draws : dict or None
        Metered draws of water.
    """

    policies: tuple[Policy, ...]
    seed: int
    years: int
    replications: int
    rain: RainRecord | None
    draws: dict[str, Any] | None

    @property
    def inputs(self) -> Inputs:
        """What all designs of a study share."""
        return Inputs(self.seed, self.years, self.rain, self.draws)


@dataclass(frozen=True)
class Sampled:
    """What was finished.

    Attributes
    ----------
    rows : DataFrame
        The rows of a study with the number of the draw before them, in the order of draws.
    sites : tuple of Site
        The finished draws, in order.
    spans : tuple of Span
        What was drawn.
    wanted : int
        Draws that were asked for.
    interrupted : bool
        Whether the user stopped it.
    """

    rows: pd.DataFrame
    sites: tuple[Site, ...]
    spans: tuple[Span, ...]
    wanted: int
    interrupted: bool


def sampled(
    scenario: Scenario,
    plan: Plan,
    count: int,
    workers: int,
    known: Sequence[str],
    on_progress: Callable[[int, int], None],
    folder: Path | None = None,
    scheduler: str | None = None,
) -> Sampled:
    """Run every policy at sites drawn over what is uncertain.

    Parameters
    ----------
    count : int
        Draws, >= 2.
    workers : int
        Processes, >= 1.

    Raises
    ------
    InputError
        When a number is below its range or nothing is uncertain.
    TwinError
        When worker processes died again and again.
    """
    for name, value, least in (("draws", count, 2), ("runs a draw", plan.replications, 2)):
        if value < least:
            raise InputError(f"{name} is {value}; wanted {least} or more")
    uncertain = spans(scenario, known)
    if not uncertain:
        raise InputError("nothing is uncertain at this site; wanted at least one input that is not known")
    drawn = sites(scenario, uncertain, count, plan.seed)
    per = len(plan.policies) * plan.replications
    with open_runner(
        _designs(plan, drawn),
        plan.inputs,
        workers,
        folder,
        scheduler,
        lambda finished, wanted: on_progress(finished // per, wanted // per),
    ) as runner:
        return _run(runner, plan, drawn, uncertain)


def forget(found: Sampled, plan: Plan, folder: Path) -> int:
    """Remove the finished batches of draws from a folder, now that what they were for is written."""
    with open_runner(_designs(plan, found.sites), plan.inputs, 1, folder) as runner:
        return runner.forget()


def _designs(plan: Plan, drawn: Sequence[Site]) -> list[Design]:
    return [
        Design(f"draw {one.number}", one.scenario, plan.policies, seed_of(plan.seed, one.number))
        for one in drawn
    ]


def _run(runner: StudyRunner, plan: Plan, drawn: Sequence[Site], uncertain: tuple[Span, ...]) -> Sampled:
    everyone, stop = tuple(range(len(plan.policies))), plan.replications
    asked = [Request(at, everyone, 0, stop) for at in range(len(drawn))]
    interrupted = False
    try:
        runner.advance(asked, whole=True)
    except Interrupted:
        interrupted = True
    # Part of a draw is no draw.
    done = [one for one in asked if all(runner.knows(one.design, everyone, number) for number in range(stop))]
    rows = runner.rows(done)
    rows["design"] = [drawn[at].number for at in rows["design"]]
    finished = tuple(drawn[one.design] for one in done)
    return Sampled(rows.rename(columns={"design": "draw"}), finished, uncertain, len(drawn), interrupted)
