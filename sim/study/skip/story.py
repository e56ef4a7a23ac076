"""What happened because something was skipped, told month by month from two histories."""

from dataclasses import dataclass
from datetime import date, timedelta

from sim.outcome import measures
from sim.outcome.measures import below_target_days
from sim.outcome.signs import NOBODY, OFF_S, VISIBLE_SDS, Sign, signs
from sim.plant import state
from sim.study.compare.sentences import three_digits
from sim.twin.history import History
from sim.units import text


@dataclass(frozen=True)
class Month:
    """One month of both runs.

    Attributes
    ----------
    number : int
        Counted from the start of the run, from 1.
    first : date
        Its first day, or that of the skip.
    reading : tuple of float
        UV reading at its end, skipped and kept [fraction].
    drop_pa : tuple of float
        Largest drop over any stage, skipped and kept [Pa].
    off_h : tuple of float
        Water-off hours, skipped and kept.
    below : tuple of int
        Days below the dose target, skipped and kept.
    alarm : tuple of int
        Days with the alarm on, skipped and kept.
    lines : tuple of str
        What showed first in it.
    stands : str
        How the house stood: alarm, reading, dry taps, days below the target; empty when as kept.
    visible : tuple of str
        Those of `lines` that a person could have seen.
    """

    number: int
    first: date
    reading: tuple[float, float]
    drop_pa: tuple[float, float]
    off_h: tuple[float, float]
    below: tuple[int, int]
    alarm: tuple[int, int]
    lines: tuple[str, ...]
    stands: str
    visible: tuple[str, ...]

    @property
    def quiet(self) -> bool:
        """Whether the month was as it would have been."""
        return not self.lines and not self.stands


@dataclass(frozen=True)
class Story:
    """What a skip came to in one run.

    Attributes
    ----------
    signs : tuple of Sign
        What showed, in order of time.
    months : tuple of Month
        From the month of the skip on.
    summary : tuple of str
        What failed first, what could have been seen, the first day below target, the alarm, the cost.
    """

    signs: tuple[Sign, ...]
    months: tuple[Month, ...]
    summary: tuple[str, ...]


def tell(kept: History, skipped: History, from_s: float, units: str) -> Story:
    """Tell what a skip did.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    from_day = int(from_s // 86400.0)
    shown = signs(kept, skipped, from_day)
    months = tuple(
        _month(kept, skipped, number, days, shown, units) for number, days in _months(skipped, from_day)
    )
    return Story(shown, months, tuple(_summary(kept, skipped, shown, from_day, units)))


def sentence(sign: Sign, start: date, units: str) -> str:
    """Return one sign in words.

    Parameters
    ----------
    units : str
        "us" or "si".
    """
    value, kept = (_amount(sign.what, amount, units) for amount in (sign.value, sign.kept))
    said = {
        "reading": f"the UV monitor read {value} where it would have read {kept}",
        "alarm": f"the UV alarm came on, at a reading of {value}",
        "drop": f"the gauges showed a drop of {value} over {sign.subject} where it would have been {kept}",
        "drop limit": f"the drop over {sign.subject} passed the rise at which the cartridge is due: {value}",
        "weak taps": f"the taps ran weak for {value} of the day",
        "water off": f"the taps were dry for {value} of the day",
        "pump starts": f"the pump started {value} times where it would have started {kept} times",
        "failure": f"{sign.subject} failed",
        "below target": f"{value} reached the house below the dose target: the first day below it",
    }[sign.what]
    return f"{spelled(sign.on(start))}: {said}."


def _amount(what: str, value: float, units: str) -> str:
    if what in ("reading", "alarm"):
        return f"{100.0 * value:.0f} %"
    if what in ("drop", "drop limit"):
        return text(value, "pressure", units)
    if what in ("weak taps", "water off"):
        return f"{value / 60.0:.0f} min" if value < 7200.0 else f"{value / 3600.0:.1f} h"
    if what == "below target":
        return text(value, "volume", units)
    return f"{value:.0f}"


def spelled(day: date) -> str:
    """Return a date as people write it.

    Returns
    -------
    str
        For instance "4 March 2027".
    """
    return f"{day.day} {day:%B %Y}"


def _months(history: History, from_day: int) -> list[tuple[int, range]]:
    """Return number and days of each calendar month, from that of the skip on."""
    found: dict[tuple[int, int], list[int]] = {}
    for day in range(history.n_days):
        on = history.start + timedelta(days=day)
        found.setdefault((on.year, on.month), []).append(day)
    whole = [(number, range(days[0], days[-1] + 1)) for number, days in enumerate(found.values(), 1)]
    return [(number, range(max(d.start, from_day), d.stop)) for number, d in whole if d.stop > from_day]


def _month(
    kept: History, skipped: History, number: int, days: range, shown: tuple[Sign, ...], units: str
) -> Month:
    at, last = slice(days.start, days.stop), days.stop - 1
    both = (skipped, kept)
    below = [int(below_target_days(run)[at].sum()) for run in both]
    drops = [float(run.drops_pa[at].max(initial=0.0)) for run in both]
    off = [float(run.days[at, state.WATER_OFF].sum()) / 3600.0 for run in both]
    alarms = [int(run.alarm_days[at].sum()) for run in both]
    reading = [float(run.uv_reading[last]) for run in both]
    mine = [sign for sign in shown if sign.day in days]
    return Month(
        number=number,
        first=skipped.start + timedelta(days=days.start),
        reading=(reading[0], reading[1]),
        drop_pa=(drops[0], drops[1]),
        off_h=(off[0], off[1]),
        below=(below[0], below[1]),
        alarm=(alarms[0], alarms[1]),
        lines=tuple(sentence(sign, skipped.start, units) for sign in mine),
        stands=_stands(skipped, (reading[0], reading[1]), (off[0], off[1]), below, alarms),
        visible=tuple(sentence(sign, skipped.start, units) for sign in mine if sign.seen_on != NOBODY),
    )


def _stands(
    skipped: History,
    reading: tuple[float, float],
    off_h: tuple[float, float],
    below: list[int],
    alarm: list[int],
) -> str:
    """Return what is not as it would have been, in a few words."""
    said = []
    if reading[1] - reading[0] > VISIBLE_SDS * skipped.scenario.gauge.uv_reading_sd:
        said.append(f"UV reading {100 * reading[0]:.0f} % at its end (kept: {100 * reading[1]:.0f} %)")
    if alarm[0] > alarm[1]:
        said.append(f"alarm on {_days(alarm[0])} (kept: {alarm[1]})")
    if off_h[0] - off_h[1] > OFF_S / 3600.0:
        said.append(f"water off {three_digits(off_h[0])} h (kept: {three_digits(off_h[1])})")
    if below[0] != below[1]:
        said.append(f"{_days(below[0])} below the dose target (kept: {below[1]})")
    return "; ".join(said)


def _summary(
    kept: History, skipped: History, shown: tuple[Sign, ...], from_day: int, units: str
) -> list[str]:
    if not shown:
        return [
            "In this run nothing showed that would not have shown anyway.",
            _cost(kept, skipped),
        ]
    visible = [sign for sign in shown if sign.seen_on != NOBODY]
    lines = [f"First to show: {sentence(shown[0], skipped.start, units)}"]
    below = next((sign for sign in shown if sign.what == "below target"), None)
    if visible:
        lines.append(_could_have_seen(visible[0], below, skipped))
    else:
        lines.append("Nobody could have seen any of it on gauges, monitor, taps or pump.")
    lines.append(_first_below(kept, skipped, below, from_day))
    lines.append(_alarm(shown, below, skipped))
    lines.append(_cost(kept, skipped))
    return lines


def _could_have_seen(sign: Sign, below: Sign | None, skipped: History) -> str:
    said = f"A person could have seen it on {sign.seen_on} from {spelled(sign.on(skipped.start))} on"
    if below is None:
        return f"{said}."
    lead = below.day - sign.day
    if lead > 0:
        return f"{said}, {_days(lead)} before the dose first fell below target."
    return f"{said}, not before the dose first fell below target."


def _first_below(kept: History, skipped: History, below: Sign | None, from_day: int) -> str:
    after = slice(from_day, None)
    counts = [int(below_target_days(run)[after].sum()) for run in (skipped, kept)]
    if below is None:
        return f"The dose fell below target on no day on which it would not have: {_days(counts[0])} in all."
    on = spelled(below.on(skipped.start))
    return (
        f"The dose first fell below target on {on}, {_days(below.day - from_day)} "
        f"after the skip began; {_days(counts[0])} below target from then to the end of the run where it "
        f"would have been {counts[1]}."
    )


def _alarm(shown: tuple[Sign, ...], below: Sign | None, skipped: History) -> str:
    alarm = next((sign for sign in shown if sign.what == "alarm"), None)
    if alarm is None:
        silent = below is not None and not skipped.alarm_days[below.day]
        return f"The alarm did not speak up{', not even then' if silent else ' any more than it would have'}."
    on = spelled(alarm.on(skipped.start))
    if below is None:
        return f"The alarm spoke on {on}."
    lead = below.day - alarm.day
    if lead == 0:
        return "The alarm spoke on the same day."
    side = "before the dose fell below target" if lead > 0 else "after the dose had fallen below target"
    return f"The alarm spoke on {on}, {_days(abs(lead))} {side}."


def _cost(kept: History, skipped: History) -> str:
    years = float(skipped.years)
    costs = [float(measures.row(run)["cost"]) * years for run in (skipped, kept)]
    more = costs[0] - costs[1]
    currency = skipped.scenario.prices.currency
    side = "more" if more > 0 else "less"
    return (
        f"Over {years:g} {'year' if years == 1 else 'years'} it cost {three_digits(abs(more))} {currency} "
        f"{side} than doing the work: {three_digits(costs[0])} in place of {three_digits(costs[1])}."
    )


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"
