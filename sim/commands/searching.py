"""What `size` and `tune` share: how runs are opened, and what is kept."""

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sim.commands.inputs import Inputs, chosen
from sim.commands.screen import progress_bar
from sim.errors import InputError
from sim.study.runs import request, store
from sim.study.runs.quota import in_range
from sim.study.runs.request import Design, Runner
from sim.study.runs.runner import open_runner
from sim.study.search.sensitivity import Opener

RUNS = "runs"  # folder of finished batches under the output folder


def check(options: argparse.Namespace) -> None:
    """Refuse numbers that cannot be used."""
    for name, least in (("years", 1), ("replications", 2), ("workers", 1), ("seed", 0)):
        in_range(name, getattr(options, name), least)
    if not options.worth > 0:
        raise InputError(f"worth is {options.worth:g}; wanted an amount of money above 0")


def policies_of(options: argparse.Namespace, inputs: Inputs) -> list[str]:
    """Return the names of the policies that were asked for."""
    known = inputs.scenario.policies
    names = list(dict.fromkeys(options.policy or [policy.name for policy in known]))
    return [chosen(known, name).name for name in names]


@contextmanager
def opened(options: argparse.Namespace, inputs: Inputs, folder: Path) -> Iterator[Opener]:
    """Give what opens runners, with a bar that shows the runs of the round under way."""
    shared = request.Inputs(options.seed, options.years, inputs.rain, inputs.draws)
    with progress_bar() as bar:
        task = bar.add_task("runs", total=None)

        def told(finished: int, wanted: int) -> None:
            bar.update(task, completed=finished, total=wanted)

        @contextmanager
        def opener(designs: Sequence[Design], name: str) -> Iterator[Runner]:
            bar.reset(task, description=f"runs: {name}", total=None)
            with open_runner(
                designs, shared, options.workers, folder / RUNS / name, options.scheduler, told
            ) as runner:
                yield runner

        yield opener


def manifest(
    options: argparse.Namespace, inputs: Inputs, policies: Sequence[str], runs: int, asked: dict[str, object]
) -> dict[str, object]:
    """Return what is needed to make the same rows again."""
    plain = store.manifest(
        inputs.scenario.name, inputs.digest, policies, options.seed, options.years, options.replications,
        options.replications, "complete", policies[0],
    )  # fmt: skip
    return {**plain, "command": options.command, "runs": runs, "worth": options.worth, **asked}
