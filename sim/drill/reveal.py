"""The reveal: what was true, what the display said, what was believed, beside an expert's run."""

from collections.abc import Sequence
from datetime import timedelta

import pandas as pd

from sim.drill.families import Family, family
from sim.drill.play import Ended
from sim.drill.score import Score
from sim.study.caution import CAUTION
from sim.study.wording import counted, listed, number, percent
from sim.units import SHOWN, Units, from_si, shown

MODEL = (
    "A model of one house, not a water test: it leaves out germs, leaks at joints, smells and what people "
    "tell each other."
)


def water(value_m3: float, units: Units) -> str:
    """Return an amount of water with its unit."""
    size, unit = shown(value_m3, "volume", units)
    return f"{number(size)} {unit}"


def words(ended: Ended, best: Ended, score: Score, units: Units) -> list[str]:
    """Return the reveal in lines; of an expert's own run, with nothing beside it."""
    case, truth = ended.case, ended.case.staged[0]

    def beside(own: float, unit: str, its: float) -> str:
        return f"{number(own)} {unit}" + ("" if ended is best else f" (expert: {number(its)})")

    found, currency = family(truth.name), case.scenario.prices.currency
    lines = [CAUTION, f"It was: {truth.name}, from day {truth.day} on."]
    if found.played:
        lines.append(f"For the drill {found.played}.")
    if found.caution:
        lines.append(f"Caution, before it is mended: {found.caution}")
    lines += [
        f"What should have been looked at: {found.look}.",
        *_early(ended),
        *_alarm(ended),
        *_warned(ended),
        _known(ended, score),
        *_believed(ended, score),
    ]
    if score.stopped:
        lines.append(ended.log.stopped)
    mended = f"mended on day {score.mended_day}" if score.mended_day is not None else "never mended"
    lines += [
        f"The fault was {mended}.{_after(found, ended)}{_besides(ended)}",
        *_below(ended, best, score, units),
        f"Without water from day {truth.day} on: {beside(score.own.off_h, 'h', score.best.off_h)}.",
        f"Spent, time included: {beside(score.own.cost, currency, score.best.cost)}.",
        *_due(score, currency),
        *_left(ended),
        f"What the expert did: {_acts(best)}.",
        MODEL,
    ]
    return lines


def _after(found: Family, ended: Ended) -> str:
    """Say what the mend of a fault leaves."""
    return f" {found.after}" if found.after and ended.mended_day is not None else ""


def _besides(ended: Ended) -> str:
    """Say what else was done."""
    rest = [(day, what) for day, what, mended in ended.log.acts if not mended]
    if not ended.log.acts:
        return " Nothing was done."
    if not rest:
        return " Nothing else was done."
    return f" Done besides: {_by_day(rest)}; what answers wear or an alarm is no mistake."


def _due(score: Score, currency: str) -> list[str]:
    """Say what the mend will take of a fault that still stands."""
    if not score.own.due_cost:
        return []
    return [
        f"It still stands: its mend is yet to be paid, {number(score.own.due_cost)} {currency} at the least."
    ]


def _below(ended: Ended, best: Ended, score: Score, units: Units) -> list[str]:
    """Say what came below the target since the fault began, and since it could have been known."""
    truth, known = ended.case.staged[0], score.known_day

    def line(day: int, why: str) -> str:
        own, its = (float(run.below_m3[day:].sum()) for run in (ended, best))
        beside = "" if ended is best else f" (expert: {water(its, units)})"
        shared = "; no more than the expert's" if ended is not best and 0.0 < own <= its else ""
        return f"Below the dose target from day {day} on{why}: {water(own, units)}{beside}{shared}."

    if known is None or known <= truth.day:
        return [line(truth.day, "")]
    return [line(truth.day, ", when it began"), line(known, ", when it could be known")]


def _left(ended: Ended) -> list[str]:
    """Say of a display that ends below its alarm that it does, though the fault may be mended."""
    last, alarm = float(ended.reading[ended.case.ends - 1]), ended.case.scenario.uv.alarm
    if ended.mended_day is None or last >= alarm:
        return []
    return [
        f"On day {ended.case.ends} the display stands at {percent(last)}, below its alarm: that is still "
        "to be answered, and nobody drinks meanwhile."
    ]


def _early(ended: Ended) -> list[str]:
    """Say to those who asked before anything was wrong that they did."""
    asked, began = ended.log.asked_day, ended.case.staged[0].day
    if asked >= began:
        return []
    how = (
        f"The case ended by an accident on day {asked}"
        if ended.log.stopped
        else f"It was asked for on day {asked}"
    )
    return [f"{how}, before the fault began: no sign of it had shown, and what moved was wear or scatter."]


def _alarm(ended: Ended) -> list[str]:
    """Say of a reading that was low before the fault came that it was not by this fault."""
    case = ended.case
    low = ended.reading[case.starts : case.staged[0].day - 1] < case.scenario.uv.alarm
    if not low.any():
        return []
    day = case.starts + int(low.argmax())
    return [
        f"The display was below its alarm on day {day} already, by what the house had gathered, not by this "
        "fault: that too is answered, and nobody drinks meanwhile."
    ]


def _warned(ended: Ended) -> list[str]:
    """Say of a reading below the alarm that no water came with too little light meanwhile."""
    case = ended.case
    sounded = ended.reading[case.starts : case.ends] < case.scenario.uv.alarm
    if not sounded.any() or ended.below_m3[case.starts :].sum() > 0.0:
        return []
    first = case.starts + int(sounded.argmax())
    return [
        f"The display was below its alarm on {counted(int(sounded.sum()), 'day')}, first on day {first}, yet "
        "no water came below the dose target: an alarm is meant to come before the light is too little, and "
        "is answered all the same."
    ]


def _known(ended: Ended, score: Score) -> str:
    truth = ended.case.staged[0].name
    named = next((one.day for one in ended.log.beliefs if one.cause == truth), None)
    if score.known_day is None:
        return (
            "The expert did not name it: in this case it could hardly be known."
            if named is None
            else f"You named it on day {named}; the expert never did."
        )
    if named is not None and named < score.known_day:
        return f"You named it on day {named}, before the expert (day {score.known_day})."
    if ended.mended_day is not None and ended.mended_day < score.known_day:
        return f"You mended it on day {ended.mended_day}, before the expert named it (day {score.known_day})."
    return f"It could have been known by day {score.known_day}: the expert named it then."


def _believed(ended: Ended, score: Score) -> list[str]:
    if not ended.log.beliefs:
        return ["Nothing was believed: no cause was named."]
    said = [f"day {one.day}: {one.cause}, {percent(one.probability)}" for one in ended.log.beliefs]
    right = "right" if score.right else "wrong"
    return [
        f"Believed: {'; '.join(said)}. The last was {right}, and scores {number(score.brier)}; 0 is best, "
        "1 worst."
    ]


def _acts(best: Ended) -> str:
    if not best.log.acts:
        return "looked, and mended nothing"
    return _by_day([(day, what) for day, what, _ in best.log.acts])


def _by_day(acts: Sequence[tuple[int, str]]) -> str:
    days: dict[str, list[str]] = {}
    for day, what in acts:
        days.setdefault(what, []).append(str(day))
    return "; ".join(f"{what} on {'days' if on[1:] else 'day'} {listed(on)}" for what, on in days.items())


def days_frame(ended: Ended, best: Ended) -> pd.DataFrame:
    """Return each day of the case: truth, what the display was seen to read, and the expert's run."""
    case = ended.case
    days = range(case.starts, case.ends)
    start = case.scenario.start
    return pd.DataFrame(
        {
            "day": list(days),
            "date": [start + timedelta(days=day) for day in days],
            "reading": ended.reading[case.starts :],
            "display_seen": [ended.log.displays.get(day) for day in days],
            "below_target_m3": ended.below_m3[case.starts :],
            "water_off_h": ended.off_h[case.starts :],
            "expert_reading": best.reading[case.starts :],
            "expert_below_target_m3": best.below_m3[case.starts :],
            "expert_water_off_h": best.off_h[case.starts :],
        }
    )


def days_table(days: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Return the days of a case as a table people read."""
    unit = SHOWN[units]["volume"].unit
    factor = from_si(1.0, unit, "volume")
    return pd.DataFrame(
        {
            "day": days["day"],
            "date": days["date"],
            "UV reading, %": 100.0 * days["reading"],
            "as it was seen, %": [
                "" if pd.isna(one) else number(100.0 * one, 0) for one in days["display_seen"]
            ],
            f"below target, {unit}": factor * days["below_target_m3"],
            "water off, h": days["water_off_h"],
            "UV reading, expert, %": 100.0 * days["expert_reading"],
            f"below target, expert, {unit}": factor * days["expert_below_target_m3"],
            "water off, expert, h": days["expert_water_off_h"],
        }
    )


def result_frame(ended: Ended, score: Score) -> pd.DataFrame:
    """Return the score as one row, for the lists of a trainer."""
    case = ended.case
    last = ended.log.beliefs[-1] if ended.log.beliefs else None
    row = {
        "site": case.site, "seed": case.seed, "fault": case.staged[0].name, "fault_day": case.staged[0].day,
        "known_day": score.known_day, "mended_day": score.mended_day,
        "believed": last.cause if last else "", "probability": last.probability if last else None,
        "right": score.right, "brier": score.brier, "needless_acts": score.needless_count,
        "stopped": score.stopped, "looking_min": ended.log.minutes,
        **{f"{name}_{who}": getattr(one, name) for who, one in (("own", score.own), ("expert", score.best))
           for name in ("below_m3", "off_h", "cost", "due_cost")},
    }  # fmt: skip
    return pd.DataFrame([row])
