"""`skip`: the same house and weather with something left undone; what it led to, told and printed."""

import argparse
from dataclasses import asdict

import pandas as pd

from sim.commands.inputs import Inputs, chosen, read
from sim.errors import Interrupted
from sim.scenario.care import Policy
from sim.study import rain_record
from sim.study.runs import store
from sim.study.runs.quota import in_range
from sim.study.runs.replicate import check_asked, study
from sim.study.skip.skip_words import months_frame, words
from sim.study.skip.skipping import EVERYTHING, Ends, ends, moment_s, skipping
from sim.study.skip.story import Story, tell
from sim.twin import run as twin
from sim.twin.history import History


def skip(options: argparse.Namespace) -> int:
    """Show what skipping tasks leads to."""
    check_asked(options.seed, options.years, options.replications, options.workers, None)
    in_range("replication", options.replication, 0)
    inputs = read(options)
    kept, left = _policies(options, inputs)
    folder = store.prepare(options.out)
    runs = [one_run(inputs, policy, options) for policy in (kept, left)]
    story = tell(runs[0], runs[1], left.skips[-1].from_s, options.units)
    result = study(
        inputs.scenario, [kept, left], options.seed, options.years, options.replications, options.workers,
        inputs.rain, inputs.draws, lambda finished, wanted: None,
    )  # fmt: skip
    if result.finished == 0:
        raise Interrupted("interrupted before any run was finished; nothing was written")
    found = ends(result.rows, kept.name, left.name)
    names = _keep(options, inputs, runs, story, result.rows, found, left, result.finished)
    print("\n".join([words(story, found, inputs.scenario, left), *rain_record.said(inputs.rain)]))
    print(f"Written to {folder}: {', '.join(names)}")
    return 130 if result.interrupted else 0


def _policies(options: argparse.Namespace, inputs: Inputs) -> tuple[Policy, Policy]:
    scenario = inputs.scenario
    kept = chosen(scenario.policies, options.policy) if options.policy else scenario.policies[0]
    from_s = moment_s(" ".join(options.start), scenario.start, options.years, "--from")
    until_s = None
    if options.until:
        until_s = moment_s(" ".join(options.until), scenario.start, options.years, "--until")
    return kept, skipping(scenario, kept, options.task or [EVERYTHING], from_s, until_s)


def one_run(inputs: Inputs, policy: Policy, options: argparse.Namespace) -> History:
    """Return one run of a policy."""
    common = twin.common_inputs(
        inputs.scenario, options.replication, options.seed, options.years, inputs.rain, inputs.draws
    )
    return twin.run(inputs.scenario, policy, common)


def signs_frame(story: Story, history: History) -> pd.DataFrame:
    """Return what showed as a table."""
    return pd.DataFrame(
        [{"date": sign.on(history.start), **asdict(sign)} for sign in story.signs],
        columns=["date", "what", "subject", "day", "value", "kept", "seen_on"],
    )


def _keep(
    options: argparse.Namespace, inputs: Inputs, runs: list[History], story: Story, rows: pd.DataFrame,
    found: Ends, left: Policy, finished: int,
) -> list[str]:  # fmt: skip
    from sim.report.html import handout  # noqa: PLC0415  figures take a second to load, and lie to the right

    manifest = store.manifest(
        inputs.scenario.name, inputs.digest, list(dict.fromkeys(rows["policy"])), options.seed,
        options.years, finished, options.replications,
        "complete" if finished == options.replications else "interrupted", runs[0].policy,
    )  # fmt: skip
    page = handout.build(inputs.scenario, story, found, runs[0], runs[1], left, options.units)
    contents = {
        "handout.html": page.encode(),
        "signs.csv": store.csv_bytes(signs_frame(story, runs[1])),
        "months.csv": store.csv_bytes(months_frame(story)),
        **store.table_files("rows", rows),
        "manifest.json": store.json_bytes(
            manifest | {"skips": [one.model_dump(mode="json") for one in left.skips]}
        ),
    }
    return [file.name for file in store.write_all(options.out, contents)]
