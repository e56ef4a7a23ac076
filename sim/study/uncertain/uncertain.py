"""Runs over draws of what is uncertain: every policy through a few replications at each drawn site.

Draws and replications stay apart: each draw has its own weather, so that the spread between draws beyond the
spread within them is that of the inputs. The rows are the same for any number of workers.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from sim.errors import InputError, Interrupted
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.scenario.values.variants import Site, Span, seed_of, sites, spans
from sim.study.runs.means import ALONE, Means
from sim.study.runs.request import Design, Inputs, Request
from sim.study.runs.runner import StudyRunner


@dataclass(frozen=True)
class Sampled:
    """What was finished."""

    rows: pd.DataFrame  # the rows of a study with the number of the draw before them, in the order of draws
    sites: tuple[Site, ...]  # the finished draws, in order
    spans: tuple[Span, ...]  # what was drawn
    wanted: int  # draws that were asked for
    interrupted: bool  # whether the user stopped it


def sampled(
    scenario: Scenario,
    policies: Sequence[Policy],
    inputs: Inputs,
    each: int,
    count: int,
    known: Sequence[str] = (),
    means: Means = ALONE,
) -> Sampled:
    """Run every policy at sites drawn over what is uncertain.

    Parameters
    ----------
    each : int
        Runs of each policy at a draw, >= 2.
    count : int
        Draws, >= 2.
    known : sequence of str
        Inputs that were measured, so are not drawn.

    Raises
    ------
    InputError
        When a number is below its range or nothing is uncertain.
    TwinError
        When worker processes died again and again.
    """
    for name, value, least in (("draws", count, 2), ("runs a draw", each, 2)):
        if value < least:
            raise InputError(f"{name} is {value}; wanted {least} or more")
    uncertain = spans(scenario, known)
    if not uncertain:
        raise InputError("nothing is uncertain at this site; wanted at least one input that is not known")
    drawn = sites(scenario, uncertain, count, inputs.seed)
    designs = [
        Design(f"draw {one.number}", one.scenario, tuple(policies), seed_of(inputs.seed, one.number))
        for one in drawn
    ]
    with means.open(designs, inputs, runs_each=len(policies) * each) as runner:
        return _run(runner, each, drawn, uncertain)


def _run(runner: StudyRunner, each: int, drawn: Sequence[Site], uncertain: tuple[Span, ...]) -> Sampled:
    everyone = tuple(range(len(runner.designs[0].policies)))
    asked = [Request(at, everyone, 0, each) for at in range(len(drawn))]
    interrupted = False
    try:
        runner.advance(asked, whole=True)
    except Interrupted:
        interrupted = True
    # Part of a draw is no draw.
    done = [one for one in asked if all(runner.knows(one.design, everyone, number) for number in range(each))]
    rows = runner.rows(done)
    rows["design"] = [drawn[at].number for at in rows["design"]]
    finished = tuple(drawn[one.design] for one in done)
    return Sampled(rows.rename(columns={"design": "draw"}), finished, uncertain, len(drawn), interrupted)
