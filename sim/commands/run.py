"""`run`: one policy, one replication, its whole history as tables."""

import argparse

from sim import disk
from sim.commands.inputs import policy_of, site_of, write
from sim.scenario.values.ranges import said
from sim.study.caution import CAUTION
from sim.study.one_run.question import RunQuestion
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.wording import counted, number


def run(options: argparse.Namespace) -> int:
    """Run one policy once and write its draws, pump runs, days and events."""
    site = site_of(options)
    question = RunQuestion(
        site=site, policy=policy_of(options, site), years=options.years, seed=options.seed,
        replication=options.replication,
    )  # fmt: skip
    question.check()
    folder = disk.prepare(options.out)
    answer = ask(question)
    manifest = question.manifest((question.policy,), 1, 1, "complete") | {"replication": question.replication}
    written = write(folder, {**answer.files(), "manifest.json": store.json_bytes(manifest)}, site)
    print("\n".join([words(answer.row, site.scenario.prices.currency), *site.said]))
    if answer.row["extrapolated"]:
        print(said(str(answer.row["extrapolated"])))
    print(written)
    return 0


def words(row: dict[str, float | int | str], currency: str) -> str:
    """Return what one run came to, in a few lines."""

    def said(name: str) -> str:
        return number(float(row[name]))

    length = counted(float(row["years"]), "year")
    return (
        f"{CAUTION}\n"
        f"{row['policy']}, replication {row['replication']}, {length}. A year:\n"
        f"  cost {said('cost')} {currency}, {said('visits')} technician visits, {said('owner_h')} owner "
        "hours\n"
        f"  {said('days_below_target')} days below the dose target; without an alarm: {said('silent_days')}; "
        f"caused by people: {said('people_days_below_target')}\n"
        f"  {said('water_off_h')} water-off hours, {said('cistern_empty_days')} days with an empty cistern\n"
        f"  {said('slips')} missed steps left something wrong; noticed: {said('slips_noticed')}\n"
        "One run shows what can happen, not how often."
    )
