"""`run`: one policy, one replication, its whole history as tables."""

import argparse

from sim.commands.inputs import policy_of, site_of, write
from sim.scenario.values.ranges import said
from sim.study.caution import CAUTION
from sim.study.compare.sentences import three_digits
from sim.study.one_run.question import RunQuestion
from sim.study.questions import ask
from sim.study.runs import store


def run(options: argparse.Namespace) -> int:
    """Run one policy once and write its draws, pump runs, days and events."""
    site = site_of(options)
    question = RunQuestion(
        site=site, policy=policy_of(options, site), years=options.years, seed=options.seed,
        replication=options.replication,
    )  # fmt: skip
    question.check()
    folder = store.prepare(options.out)
    answer = ask(question)
    written = write(folder, answer.files())
    print(words(answer.row, site.scenario.prices.currency))
    if answer.row["extrapolated"]:
        print(said(str(answer.row["extrapolated"])))
    print(written)
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
