"""What a skip led to, in words: over many runs, and month by month in one of them."""

from datetime import date, timedelta

import pandas as pd

from sim.scenario.care import EVERYTHING, Policy, Skip
from sim.scenario.scenario import Scenario
from sim.study.caution import CAUTION
from sim.study.dates import spelled
from sim.study.skip.months import Month
from sim.study.skip.skipping import CONFIDENCE, SKIPPED, Ends
from sim.study.skip.story import Story
from sim.study.wording import DAYS, Words, difference, from_to, listed, money, named, percent

OFF = Words("hours a year without water", "fewer", "as many")
WEAK = Words("hours a year of weak taps", "fewer", "as many")


def words(story: Story, sentence: str) -> str:
    """Return what a skip led to, in words: over all runs, then the story of one."""
    lines = [CAUTION, sentence, "", "In the run told here:"]
    lines += [f"  {line}" for line in story.summary]
    lines += ["", "Month by month:", *by_month(story), "", "One run shows what can happen, not how often."]
    return "\n".join(lines)


def answer(found: Ends, scenario: Scenario, skipped: Policy) -> str:
    """Return what a skip comes to over many runs, in one or two sentences."""
    policy = named(skipped.name.removesuffix(SKIPPED))
    what = (
        f"Under {policy}, skipping {what_is_skipped(skipped, scenario.start)} leaves, beside the work done,"
    )
    gaps = [difference(found.days, DAYS), difference(found.off_h, OFF), difference(found.weak_h, WEAK)]
    runs = f"bounds at {percent(CONFIDENCE)} confidence, {found.runs} runs"
    sure = f"({runs if found.runs > 1 else 'in one run; one run gives no bounds'})"
    more = round(found.worse.estimate * found.runs)
    share = (
        f" There were more days below the target in {more} of {found.runs} runs." if found.runs > 1 else ""
    )
    return f"{what} {listed(gaps)} {sure}.{share} {_money(found, scenario)}"


def _money(found: Ends, scenario: Scenario) -> str:
    """Return what the skip costs; nothing is saved by a house that cannot be used."""
    currency = scenario.prices.currency
    if not found.unusable_runs:
        return f"It costs {difference(found.cost, money(currency), 'doing the work')}."
    many = found.runs > 1
    where = f"In {found.unusable_runs} of {found.runs} runs" if many else "In this run"
    return (
        f"{where} the house came to be unusable, its taps dry for a week or longer: on "
        f"{from_to(found.unusable)} days a year{' over all runs' if many else ''}. What is not spent on a "
        "house without water is no saving, so costs are not compared."
    )


def what_is_skipped(policy: Policy, start: date) -> str:
    """Return what a policy leaves undone and when, in words.

    Returns
    -------
    str
        For instance "'wipe sleeve' from 1 March 2027 on".
    """
    names = [_undone(skip) for skip in policy.skips]
    last = policy.skips[-1]
    first = spelled(start + timedelta(seconds=last.from_s))
    span = f"from {first} on"
    if last.until_s is not None:
        span = f"from {first} to {spelled(start + timedelta(seconds=last.until_s))}"
    return f"{listed(names)} {span}"


def _undone(skip: Skip) -> str:
    if skip.task == EVERYTHING:
        return "any work at all"
    return named(f"{skip.task}: {skip.stage}" if skip.stage else skip.task)


def by_month(story: Story) -> list[str]:
    """Return the months of a story, quiet ones run together."""
    lines: list[str] = []
    quiet: list[Month] = []
    for month in story.months:
        if month.quiet:
            quiet.append(month)
            continue
        lines += _quiet(quiet)
        quiet = []
        said = [*month.lines, f"{month.stands}." if month.stands else ""]
        lines.append(f"  {_named(month)}: {' '.join(part for part in said if part)}")
    return lines + _quiet(quiet)


def _quiet(months: list[Month]) -> list[str]:
    if not months:
        return []
    span = _named(months[0]) + (f" to {_named(months[-1])}" if len(months) > 1 else "")
    return [f"  {span}: as it would have been."]


def _named(month: Month) -> str:
    return f"{month.first:%B %Y} (month {month.number})"


def months_frame(story: Story) -> pd.DataFrame:
    """Return the months of a story as a table."""
    rows = []
    for month in story.months:
        row: dict[str, object] = {"month": month.number, "from": month.first}
        for name in ("reading", "drop_pa", "off_h", "weak_s", "below", "alarm"):
            skipped, kept = getattr(month, name)
            row |= {f"{name}_skipped": skipped, f"{name}_kept": kept}
        rows.append(row | {"said": " ".join(month.lines), "stands": month.stands})
    return pd.DataFrame(rows)
