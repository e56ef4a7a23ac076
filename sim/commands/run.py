"""`run`: one policy, one replication, its whole history as tables."""

import argparse

from sim.commands.inputs import chosen, read
from sim.errors import InputError
from sim.outcome import frames, measures
from sim.scenario.values.ranges import said
from sim.study import rain_record
from sim.study.caution import CAUTION
from sim.study.compare.sentences import three_digits
from sim.study.runs import store
from sim.study.runs.quota import MOST_REPLICATIONS, MOST_YEARS, in_range
from sim.twin import run as twin


def run(options: argparse.Namespace) -> int:
    """Run one policy once and write its draws, pump runs, days and events."""
    in_range("years", options.years, 1, MOST_YEARS)
    in_range("replication", options.replication, 0, MOST_REPLICATIONS)
    in_range("seed", options.seed, 0)
    inputs = read(options)
    known = inputs.scenario.policies
    if not known:
        raise InputError("the site has no policy; wanted at least one [[policy]]")
    policy = chosen(known, options.policy) if options.policy else known[0]
    folder = store.prepare(options.out)
    common = twin.common_inputs(
        inputs.scenario, options.replication, options.seed, options.years, inputs.rain, inputs.draws
    )
    history = twin.run(inputs.scenario, policy, common)
    contents: dict[str, bytes] = {}
    for name, table in frames.frames(history).items():
        contents |= store.table_files(name, table)
    files = store.write_all(folder, contents)
    row = measures.row(history, inputs.draws)
    print("\n".join([words(row, inputs.scenario.prices.currency), *rain_record.said(inputs.rain)]))
    if row["extrapolated"]:
        print(said(str(row["extrapolated"])))
    print(f"Written to {folder}: {', '.join(file.name for file in files)}")
    return 0


def words(row: dict[str, float | int | str], currency: str) -> str:
    """Return what one run came to, in a few lines."""

    def number(name: str) -> str:
        return three_digits(float(row[name]))

    return (
        f"{row['policy']}, replication {row['replication']}, {float(row['years']):g} years; per year:\n"
        f"  cost {number('cost')} {currency}, {number('visits')} visits, {number('owner_h')} owner hours\n"
        f"  {number('days_below_target')} days below the dose target; silent: {number('silent_days')}; "
        f"by people: {number('people_days_below_target')}\n"
        f"  {number('water_off_h')} water-off hours, {number('cistern_empty_days')} days of empty cistern\n"
        f"  {number('slips')} missed steps left something wrong; noticed: {number('slips_noticed')}\n"
        "One run shows what can happen, not how often.\n" + CAUTION
    )
