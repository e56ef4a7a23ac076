"""What a skip led to, in words: over many runs, and month by month in one of them."""

from datetime import date, timedelta

import pandas as pd

from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.study.caution import CAUTION
from sim.study.compare.sentences import from_to, plus_minus
from sim.study.skip.skipping import CONFIDENCE, SKIPPED, Ends
from sim.study.skip.story import Month, Story, spelled


def words(story: Story, sentence: str) -> str:
    """Return what a skip led to, in words: over all runs, then the story of one."""
    lines = [sentence, "", "In the run told here:"]
    lines += [f"  {line}" for line in story.summary]
    lines += ["", "Month by month:", *by_month(story), "", "One run shows what can happen, not how often."]
    return "\n".join([*lines, CAUTION])


def answer(found: Ends, scenario: Scenario, skipped: Policy) -> str:
    """Return what a skip comes to over many runs, in one or two sentences."""
    currency = scenario.prices.currency
    what = f"Skipping {what_is_skipped(skipped, scenario.start)} under {skipped.name.removesuffix(SKIPPED)!r}"
    side = "more" if found.cost.estimate > 0 else "less"
    cost = f"costs {plus_minus(found.cost)} {currency} a year {side}"
    days = f"leaves {from_to(found.days)} more days a year below the dose target"
    if found.runs == 1:
        return f"{what} {cost} and {days} in one run; no interval can be given from one run."
    return (
        f"{what} {days} and {cost} (bounds at {100 * CONFIDENCE:g} % confidence, {found.runs} runs). "
        f"In {round(found.worse.estimate * found.runs)} of {found.runs} runs there were more such days than "
        "with the work done."
    )


def what_is_skipped(policy: Policy, start: date) -> str:
    """Return what a policy leaves undone and when, in words.

    Returns
    -------
    str
        For instance "'wipe sleeve' from 1 March 2027 on".
    """
    names = [f"{skip.task}: {skip.stage}" if skip.stage else skip.task for skip in policy.skips]
    last = policy.skips[-1]
    first = spelled(start + timedelta(seconds=last.from_s))
    span = f"from {first} on"
    if last.until_s is not None:
        span = f"from {first} to {spelled(start + timedelta(seconds=last.until_s))}"
    return f"{', '.join(map(repr, names))} {span}"


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
        for name in ("reading", "drop_pa", "off_h", "below", "alarm"):
            skipped, kept = getattr(month, name)
            row |= {f"{name}_skipped": skipped, f"{name}_kept": kept}
        rows.append(row | {"said": " ".join(month.lines), "stands": month.stands})
    return pd.DataFrame(rows)
