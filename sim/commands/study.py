"""`study`: a comparison cut into shards for a queue of batch jobs, each run where there is room; merged."""

import argparse
import hashlib
import json
import pickle
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from sim import __version__
from sim.commands.compare import chosen_policies, conclude
from sim.commands.inputs import Inputs, chosen, read
from sim.commands.screen import progress_bar
from sim.errors import InputError
from sim.study.runs import store
from sim.study.runs.folder import held
from sim.study.runs.quota import MOST_WORKERS, in_range
from sim.study.runs.replicate import check_asked, replicated
from sim.study.runs.request import Design, Request
from sim.study.runs.request import Inputs as Shared
from sim.study.runs.runner import StudyRunner, open_runner
from sim.version import program_version

PLAN, INPUTS = "plan.json", "inputs.pickle"


@dataclass(frozen=True)
class Plan:
    """A comparison that was cut into shards.

    Attributes
    ----------
    folder : Path
        Where it lies.
    asked : dict
        What plan.json says.
    inputs : Inputs
        Site and series, as they were when it was planned.
    """

    folder: Path
    asked: dict[str, Any]
    inputs: Inputs

    @property
    def design(self) -> Design:
        """The house with the policies that were asked for."""
        scenario = self.inputs.scenario
        policies = tuple(chosen(scenario.policies, name) for name in self.asked["policies"])
        return Design(scenario.name, scenario, policies)

    @property
    def shared(self) -> Shared:
        """What all its runs share."""
        return Shared(self.asked["seed"], self.asked["years"], self.inputs.rain, self.inputs.draws)

    def place(self, shard: int) -> Path:
        """Return the folder of a shard, counted from 1."""
        return self.folder / f"shard-{shard}"

    def request(self, shard: int) -> Request:
        """Return the runs of a shard, counted from 1."""
        first, stop = self.asked["shards"][shard - 1]
        return Request(0, tuple(range(len(self.asked["policies"]))), first, stop)


def study(options: argparse.Namespace) -> int:
    """Plan a comparison in shards, run one of them, or merge them."""
    return {"plan": _plan, "run-shard": _run_shard, "merge": _merge}[options.step](options)


def _plan(options: argparse.Namespace) -> int:
    check_asked(options.seed, options.years, options.replications, 1, None)
    in_range("shards", options.shards, 1)
    if options.shards > options.replications:
        raise InputError(
            f"shards is {options.shards}; wanted at most {options.replications}, one for each replication"
        )
    inputs = read(options)
    policies = chosen_policies(options, inputs)
    packed = pickle.dumps(inputs)
    edges = [shard * options.replications // options.shards for shard in range(options.shards + 1)]
    asked = {
        "program": "cisterntwin",
        "version": __version__,
        "source": program_version(),
        "site": inputs.scenario.name,
        "scenario_digest": inputs.digest,
        "policies": [policy.name for policy in policies],
        "reference": options.reference or policies[0].name,
        "seed": options.seed,
        "years": options.years,
        "replications": options.replications,
        "units": options.units,
        "inputs_sha256": hashlib.sha256(packed).hexdigest(),
        "shards": [list(pair) for pair in pairwise(edges)],
    }
    with held(store.prepare(options.out)):
        if not (options.out / PLAN).exists():
            store.write_all(options.out, {INPUTS: packed, PLAN: store.json_bytes(asked)})
        elif read_plan(options.out).asked | {"inputs_sha256": ""} != asked | {"inputs_sha256": ""}:
            # A pickle may differ where what it holds does not; the digest of the scenario tells that.
            raise InputError(f"{options.out} holds another plan; name another folder")
    print(
        f"{options.shards} shards planned in {options.out}. Run each, wherever this folder can be reached:\n"
        f"  cisterntwin study run-shard {options.out} 1   (to {options.shards})\n"
        f"then, when all are finished:\n  cisterntwin study merge {options.out}"
    )
    return 0


def _run_shard(options: argparse.Namespace) -> int:
    in_range("workers", options.workers, 1, MOST_WORKERS)
    plan = read_plan(options.folder)
    count = len(plan.asked["shards"])
    if not 1 <= options.shard <= count:
        raise InputError(f"shard is {options.shard}; wanted 1 to {count}")
    request = plan.request(options.shard)
    bar = progress_bar()
    task = bar.add_task(f"shard {options.shard} of {count}, runs", total=None)
    with (
        open_runner(
            [plan.design],
            plan.shared,
            options.workers,
            plan.place(options.shard),
            on_progress=lambda finished, wanted: bar.update(task, completed=finished, total=wanted),
        ) as runner,
        bar,
    ):
        runner.advance([request])
    place = plan.place(options.shard)
    print(f"Shard {options.shard} of {count} is finished: {_runs(request)} runs, in {place}")
    return 0


def _merge(options: argparse.Namespace) -> int:
    plan = read_plan(options.folder)
    count = len(plan.asked["shards"])
    with open_runner([plan.design], plan.shared, 1) as runner:
        for shard in range(1, count + 1):
            runner.learn(plan.place(shard))
        missing = {
            shard: left for shard in range(1, count + 1) if (left := _left(runner, plan.request(shard)))
        }
        if missing:
            named = ", ".join(
                f"{shard} ({left} of {_runs(plan.request(shard))} runs)" for shard, left in missing.items()
            )
            raise InputError(
                f"not finished: shard {named}; "
                f"first run cisterntwin study run-shard {plan.folder} {min(missing)}"
            )
        result = replicated(runner, plan.asked["replications"])
    out = options.out or options.folder
    given = argparse.Namespace(
        out=out, seed=plan.asked["seed"], years=plan.asked["years"], units=plan.asked["units"]
    )
    with held(store.prepare(out)):
        return conclude(given, plan.inputs, list(plan.design.policies), result, plan.asked["reference"])


def _runs(request: Request) -> int:
    return len(request.policies) * (request.stop - request.first)


def _left(runner: StudyRunner, request: Request) -> int:
    """Return how many runs of a request are not known."""
    return sum(
        not runner.knows(request.design, (policy,), replication)
        for policy in request.policies
        for replication in range(request.first, request.stop)
    )


def read_plan(folder: Path) -> Plan:
    """Read a plan.

    Raises
    ------
    InputError
        When there is none, it is damaged, or another version of the program made it.
    """
    try:
        asked = json.loads((folder / PLAN).read_bytes())
        packed = (folder / INPUTS).read_bytes()
        whole = hashlib.sha256(packed).hexdigest() == asked["inputs_sha256"]
    except (OSError, ValueError, LookupError, TypeError):
        raise InputError(
            f"{folder} has no plan that can be read; wanted a folder made by study plan"
        ) from None
    if not whole:
        raise InputError(f"{folder / INPUTS} is not what was planned; plan again in another folder")
    if asked["source"] != program_version():
        raise InputError(
            f"{folder} was planned by version {asked['source']} of the program and its packages; "
            f"this is {program_version()}; wanted the same everywhere"
        )
    return Plan(folder, asked, pickle.loads(packed))
