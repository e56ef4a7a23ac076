"""A comparison in two or three plain sentences, each number with its uncertainty; what would change it."""

import math
from collections.abc import Sequence

from sim.plant import uv
from sim.scenario.scenario import Scenario
from sim.scenario.train import Uv
from sim.study.caution import ON_ALARM
from sim.study.compare.comparison import Comparison
from sim.study.compare.headline import headline, spoken_of
from sim.study.compare.in_time import renewed_in_time
from sim.study.compare.ways import way
from sim.study.stated_lives import lives_note
from sim.study.statistics.intervals import FEW_RUNS
from sim.study.wording import (
    counted,
    difference,
    money,
    named,
    number,
    percent,
    plus_minus,
    towards,
)
from sim.units import text

LEAD = 3  # sentences that are the answer: what to do, what to expect, when that changes
ONE_RUN = "One run gives no bounds, and shows no policy to be the cheapest."
BAD_DAY = (
    "A day counts as bad once more water than the site allows has come through with less UV light than the "
    "unit must give."
)


def sentences_of(
    comparison: Comparison,
    currency: str,
    asked: int | None = None,
    rating: str = "",
    turning: Sequence[str] = (),
    pumped: bool = True,
    scenario: Scenario | None = None,
) -> list[str]:
    """Return the answer in three sentences, then what belongs to it.

    Parameters
    ----------
    currency : str
        Name of the money, such as "USD".
    rating : str
        What the UV rating was taken to mean, from `rating_sentence`.
    turning : sequence of str
        What would change the advice, from `turning_sentences`.
    pumped : bool
        Whether the house has a pump.
    scenario : Scenario, optional
        Whose policies were compared: it is told what the one spoken of is, and what they may leave in for
        longer than stated.
    """
    do, expect, change = headline(comparison, currency)
    in_time, ways = ("", []) if scenario is None else _of_ways(comparison, scenario, currency)
    said = [f"{do} {in_time}".strip(), expect, change, *ways, *turning]  # whom it does not suit, beside it
    said += [ONE_RUN] if comparison.runs == 1 else []
    said += [_pumps(comparison) if pumped else "", rating, BAD_DAY, ON_ALARM, _basis(comparison, asked)]
    return [sentence for sentence in said if sentence]


def _of_ways(comparison: Comparison, scenario: Scenario, currency: str) -> tuple[str, list[str]]:
    """Return when to choose another way for the sake of its parts, and what belongs with all of them."""
    known = {policy.name: policy for policy in scenario.policies}
    compared = [known[item.policy] for item in comparison.summaries]
    in_time = renewed_in_time(comparison, compared, scenario, currency)
    return in_time, [way(known[spoken_of(comparison).policy]), lives_note(compared, scenario)]


def rating_holds(unit: Uv) -> str:
    """Return at what state of the unit its rated dose holds, and what that comes to when new.

    Returns
    -------
    str
        Such as "holds at the alarm set point of 60 %: 66.7 mJ/cm2 when new and clean".
    """
    new_j_m2 = uv.new_dose_j_m2(unit.dose_at_rating_j_m2, unit.light_at_rating)
    set_point = f"at the alarm set point of {100 * unit.alarm:g} %"
    if unit.rated_at == "new":
        at_alarm = _dose(new_j_m2 * unit.alarm)
        return f"holds for a new lamp and a clean sleeve: {at_alarm} {set_point}"
    end = f"at the end of lamp life, with {100 * unit.output_at_end:g} % of the light"
    state = set_point if unit.rated_at == "alarm" else end
    return f"holds {state}: {_dose(new_j_m2)} when new and clean"


def rating_sentence(unit: Uv) -> str:
    """Return what the UV rating was taken to mean, and how two units work together."""
    said = f"As the site states it, the UV rating of {_dose(unit.dose_at_rating_j_m2)} {rating_holds(unit)}."
    return f"{said} {two_units(unit)}".strip()


def two_units(unit: Uv) -> str:
    """Return what was assumed of two UV units; empty for one."""
    if unit.units == 1:
        return ""
    if unit.lanes == 1:
        return (
            "Two such units stand in series: their doses are added, as if all water passed each in turn, "
            "which no test of the pair has shown here; with one lamp dark the other counts alone."
        )
    dark = (
        "its valve shuts and the other unit takes all water"
        if unit.shutoff_valve
        else ("half of the water has no dose, and all of it counts as below the target")
    )
    return (
        "Two such units stand in parallel and share the flow evenly, each within its own rating; with one "
        f"lamp dark {dark}."
    )


def _dose(dose_j_m2: float) -> str:
    return text(dose_j_m2, "dose", "si")  # people in either system speak of mJ/cm2


def what_would_change_this(comparison: Comparison, currency: str = "") -> list[str]:
    """Return what, by the numbers themselves, would change the finding.

    Parameters
    ----------
    currency : str
        Name of the money, such as "USD".
    """
    facts = [*_dominated(comparison), *_rivals(comparison, currency), *_limit_facts(comparison)]
    if len(comparison.summaries) > 1 and _no_days_at_all(comparison):
        facts.append("No policy had a day below the dose target in any run, so only cost tells them apart.")
    if comparison.runs == 1:
        facts.append(f"One run shows no spread; {FEW_RUNS} or more would.")
    elif comparison.runs < FEW_RUNS:
        facts.append(
            f"{comparison.runs} runs hardly show the spread; {FEW_RUNS} or more may move every number."
        )
    return facts


def _pumps(comparison: Comparison) -> str:
    """Return how often the pump failed under the policy that is spoken of, and the hours without water."""
    shown = spoken_of(comparison)
    if math.isnan(shown.pump_failures_per_year):
        return ""
    if shown.pump_failures_per_year == 0:
        return "No pump failed in these runs."
    hours = (
        f"{number(shown.pump_water_off_h)} of the {number(shown.water_off_h.estimate)} water-off hours a year"
    )
    return f"The pump failed {number(shown.pump_failures_per_year)} times a year, which took {hours}."


def _no_days_at_all(comparison: Comparison) -> bool:
    # Days are counted by their chances where these are known: then none was met, and some are to be expected.
    return all(
        item.runs_with_days == 0 and item.days_below_target.estimate == 0.0 for item in comparison.summaries
    )


def _basis(comparison: Comparison, asked: int | None) -> str:
    """Return what the numbers rest on."""
    length = f"of {counted(round(comparison.years, 1), 'year')}"
    stopped = asked is not None and asked > comparison.runs
    runs = f"{comparison.runs} of {asked} runs" if stopped else f"{comparison.runs} runs"
    if comparison.runs == 1:
        return f"The study was interrupted after {runs} {length}." if stopped else ""
    why = ", as the study was interrupted" if stopped else ""
    return f"Bounds hold at {percent(comparison.confidence)} confidence, from {runs} {length}{why}."


def _dominated(comparison: Comparison) -> list[str]:
    return [
        f"{named(name)} has nothing over {named(other)}: it costs no less, and is no better in days, alarm "
        "or water."
        for name, other in comparison.dominated.items()
    ]


def _rivals(comparison: Comparison, currency: str) -> list[str]:
    """Return what it takes for another policy within the limits to be the cheapest."""
    choice, unit = comparison.choice, money(currency).unit
    best = choice.recommended or (choice.either[0] if choice.either else "")
    said = []
    for name in sorted(choice.lead, key=lambda one: choice.lead[one].estimate):
        gap = choice.lead[name]
        if name in choice.as_good and gap.low > 0:
            said.append(
                f"{named(name)} would have to become {plus_minus(gap)} {unit} cheaper to match {named(best)}."
            )
        elif name in choice.either:
            said.append(
                f"{named(name)} may be the cheapest: "
                f"it costs {difference(gap, money(currency), named(best))}."
            )
    return said


def _limit_facts(comparison: Comparison) -> list[str]:
    """Return which limits of days below the dose target would change how a policy stands."""
    facts = []
    for item in comparison.summaries:
        days = item.by_days.interval
        if item.days_below_target.reason:
            facts.append(f"For {named(item.policy)}, {item.days_below_target.reason}.")
        if item.by_days.state != "within" and days.known:
            facts.append(
                f"With a limit of {towards(days.high, up=True)} days a year, {named(item.policy)} would be "
                "within it."
            )
    return facts
