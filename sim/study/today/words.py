"""What is said of a house today: short sentences, cautious where little is known."""

from collections.abc import Sequence
from datetime import date

from sim.diary.book import Diary
from sim.diary.fit import Misfit
from sim.diary.forecast import UV_PART
from sim.diary.score import LEAST_TOLD, Score
from sim.scenario.scenario import Scenario
from sim.study.dates import spelled
from sim.study.today.parts import PartToday, Range, When
from sim.study.today.visit import NextVisit
from sim.study.today.waiting import Waiting
from sim.study.today.wishes import Wish
from sim.study.wording import capital, counted, listed, number, percent
from sim.units import Units, text

RANGES = "Every range here is the one in which 8 of 10 houses like this one lie."
LATER = "more than two years ahead"


def sentence(
    scenario: Scenario, parts: Sequence[PartToday], visit: NextVisit | None, known: Diary, today: date
) -> str:
    """Return the house in one sentence."""
    basis = (
        f"from {counted(len(known.readings), 'reading')}"
        if known.readings
        else "without a reading, so it could be any house like it"
    )
    if not known.begun:
        return (
            f"{scenario.name} on {spelled(today)}: nothing was read or noted yet, so this is any house like "
            "it of any age. Note when each part was last seen to, and read what helps most."
        )
    unfit = [part.name for part in parts if not part.fits]
    start = f"{scenario.name} on {spelled(today)}, {basis}: "
    if unfit:
        return f"{start}the readings of {listed(unfit)} do not fit this model of the house; see below."
    if visit is None:
        return f"{start}nothing falls due within two years."
    when = "today" if visit.on == today else f"by {spelled(visit.on)}"
    return f"{start}{listed([*visit.tasks])} {when}."


def line(part: PartToday, today: date, units: Units, begun: bool = True) -> str:
    """Return a part in one or two sentences; begun says whether anything was read or noted yet."""
    said = "; ".join([f"{capital(part.name)}: {state_words(part, units)}", *dose_words(part, units)])
    if not part.fits:
        return f"{said}. These readings do not fit this model, so no date is told."
    if part.when is None or not part.tasks:
        return f"{said}."
    return f"{said}. {_when(part, part.when, today, begun)}"


def _when(part: PartToday, when: When, today: date, begun: bool) -> str:
    doing = capital(listed(list(part.tasks)))
    if when.by is None:
        return f"{doing}: {LATER}."
    likely = "later than two years" if when.likely is None else f"about {spelled(when.likely)}"
    first = spelled(when.first) if when.first else "two years"
    last = spelled(when.last) if when.last else "more than two years"
    if when.by <= today and not begun:
        return f"{doing}: not known yet by when; the limit comes {likely} ({first} to {last})."
    by = "now" if when.by <= today else f"by {spelled(when.by)}"
    start = f"{doing} {by} ({odds(when, today)})"
    if when.likely is not None and when.likely <= today:
        return f"{start}."
    return f"{start}; its limit comes {likely} ({first} to {last})."


def odds(when: When, today: date) -> str:
    """Return how likely it is to be late by the date advised, or already where that is today."""
    if when.by is None:
        return "under 1 in 10 that it is due before"
    if when.by > today:
        return "1 in 10 that it is late by then"
    shares = ((when.last, "9 in 10"), (when.likely, "1 in 2"))
    sure = next((share for on, share in shares if on is not None and on <= today), "1 in 10")
    return f"{sure} or more that it is late already"


def dose_words(part: PartToday, units: Units) -> list[str]:
    """Return the doses of the UV unit, of no other part."""
    if not part.doses:
        return []
    rated, peak = (_dose(one, units) for one in part.doses)
    return [f"dose {rated} at rated flow", f"{peak} at the strongest flow of the last month"]


def state_words(part: PartToday, units: Units) -> str:
    """Return the state of a part with its range."""
    state = part.state
    if part.measure == "pressure":
        return _ranged([text(x, "pressure", units) for x in (state.low, state.middle, state.high)])
    return _ranged([percent(x) for x in (state.low, state.middle, state.high)], part.measure)


def _dose(dose: Range, units: Units) -> str:
    return _ranged([text(x, "dose", units) for x in (dose.low, dose.middle, dose.high)])


def _ranged(shown: Sequence[str], measure: str = "") -> str:
    """Return the middle of three and its range; alone where the digits shown tell of no range."""
    low, middle, high = shown
    said = f"{middle} {measure}".strip()
    return said if low == middle == high else f"{said} ({low} to {high})"


def waiting_words(waits: Sequence[Waiting], currency: str, begun: bool) -> str:
    """Return what a wait of two months costs, where anything was read or noted."""
    if not begun:
        return "What waiting costs can be told once something is read or noted."
    one = waits[len(waits) // 2]
    return (
        f"If nobody does anything for {counted(one.days, 'day')}: {number(one.alarm_h)} hours under alarm, "
        f"{_chance(one.below_target_share)} chance of a dose below target at rated flow, "
        f"{_chance(one.clogged_share)} chance that a cartridge passes its limit; "
        f"cartridges to the worth of {number(one.saved)} {currency} are used longer."
    )


def _chance(share: float) -> str:
    """Return a chance in words: that no sampled year met it does not make it none."""
    return "under 1 %" if share < 0.01 else "over 99 %" if share > 0.99 else percent(share)


def wish_line(wish: Wish) -> str:
    """Return a reading that is wanted, and what it would do."""
    how = f" ({wish.how})" if wish.how else ""
    what = "the dose" if wish.about == "dose" else f"the date of {wish.about}"
    return f"Read {wish.reading}{how}: the range of {what} would be {percent(wish.narrower_share)} narrower."


def unused_line(names: Sequence[str]) -> str:
    """Return which readings have no weight."""
    return f"Kept, but of no weight in this: {', '.join(names)}."


def misfit_line(misfit: Misfit, units: Units) -> str:
    """Return what does not fit, and what to do about it."""
    on, until = spelled(misfit.on), spelled(misfit.until)
    if misfit.kind == "swapped":
        return f"{capital(misfit.part)}: the readings fit better with the gauges swapped from {on} on; look."
    if misfit.kind == "not noted":
        return (
            f"{capital(misfit.part)}: it reads as if it was seen to between {on} and {until}, and nobody "
            "noted it; note it if so."
        )
    read = percent(misfit.value) if misfit.part == UV_PART else text(misfit.value, "pressure", units)
    if misfit.kind == "fell":
        return (
            f"{capital(misfit.part)}: after {read} on {on} it read far less by {until}, and no work is noted "
            "between: was that misread, was the cartridge changed, or is it torn? Look, and note it."
        )
    if misfit.kind == "backwards":
        return f"{capital(misfit.part)}: {read} on {on} looks read with its two gauges the wrong way round."
    if misfit.kind == "unit":
        mixed = "kPa for psi or psi for kPa"
        return (
            f"{capital(misfit.part)}: {read} on {on} looks like a number in another unit, {mixed}, or "
            "misread; read it again."
        )
    return f"{capital(misfit.part)}: {read} on {on} looks misread; read it again."


def away_line(first: date, last: date, parts: Sequence[PartToday]) -> str:
    """Return what to do before and after an absence."""
    before = [label for part in parts if part.due is not None and part.due <= last for label in part.tasks]
    doing = f"{listed(list(dict.fromkeys(before)))}; " if before else ""
    return (
        f"Away {spelled(first)} to {spelled(last)}. Before: {doing}read the gauges. After: water has stood "
        "in pipes and tank: follow local advice on flushing before anyone drinks; read UV and gauges again."
    )


def score_words(score: Score) -> str:
    """Return what came of earlier forecasts, in words first."""
    if score.count < LEAST_TOLD:
        waiting = f"; {score.open_count} still open" if score.open_count else ""
        return f"Forecasts that came due: {score.count}, too few to say how good they are{waiting}."
    eighty = next(one for one in score.coverage if abs(one.named_share - 0.8) < 1e-9)
    told = [
        f"Of {counted(eighty.count, 'forecast')} {eighty.hits} fell in their 80 % range "
        f"(between {percent(eighty.low)} and {percent(eighty.high)} would over many)"
    ]
    if "calendar" in score.skill:
        skill = score.skill["calendar"][0]
        closer = "closer" if skill >= 0 else "farther off"
        told.append(f"{percent(abs(skill))} {closer} than the calendar")
    told.append(f"{percent(score.late_share)} came before the date advised")
    return f"{'; '.join(told)}."
