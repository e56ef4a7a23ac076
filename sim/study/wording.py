"""How numbers, differences, counts, lists and names read: the one place for it, on every screen and page.

A number has two digits, three from 100 on, and nothing beyond hundredths. That is a matter of the number
alone, so it reads the same wherever it stands; bounds say how well it is known. A difference is more, less,
the same, or cannot be told; it is never a negative more.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sim.study.statistics.intervals import Interval

HUNDREDTHS = 2
UNTOLD = "cannot be told"
_NO_WIDTH = 1e-9  # relative half-width below which an interval is said to have none
_UNEVEN = 0.1  # by which bounds may lie apart unevenly, of the half-width, and still be told as one


def rounded(value: float) -> float:
    """Return a number with the digits that are shown of it.

    Examples
    --------
    >>> rounded(12345.6), rounded(257.4), rounded(85.04), rounded(2.66), rounded(0.0721579)
    (12300.0, 257.0, 85.0, 2.7, 0.07)
    """
    if not math.isfinite(value) or value == 0:
        return value
    return round(value, _decimals(abs(value))) + 0.0


def number(value: float, decimals: int | None = None) -> str:
    """Return a number as people read it, with no exponent or "-0"; usual decimals of a unit replace the rule.

    Examples
    --------
    >>> number(12345.6), number(85.04), number(2.66), number(0.0721579), number(0.001), number(-0.001)
    ('12,300', '85', '2.7', '0.07', 'under 0.01', '0')
    >>> number(13.68, 1), number(0.02, 1)
    ('13.7', 'under 0.1')
    """
    if value == 0:
        return "0"
    shown = _fixed(value, _decimals(abs(value)) if decimals is None else decimals)
    if not _nil(shown):
        return shown
    return f"under {10.0 ** -(HUNDREDTHS if decimals is None else decimals):g}" if value > 0 else "0"


def given(value: float) -> str:
    """Return a count, or a number somebody set such as a limit: whole as it is, else six digits at most.

    Examples
    --------
    >>> given(5.0), given(0.25), given(8784.0)
    ('5', '0.25', '8,784')
    """
    if float(value).is_integer():
        return f"{int(value):,}"
    shown = f"{float(f'{value:.6g}'):,.9f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def percent(share: float) -> str:
    """Return a share as percent.

    Examples
    --------
    >>> percent(0.427), percent(0.0022), percent(1.0)
    ('43 %', '0.22 %', '100 %')
    """
    return f"{number(100.0 * share)} %"


def percents(share: Interval) -> str:
    """Return a share with its bounds, such as "62 % (48 to 74)"."""
    low, high = number(100.0 * max(0.0, share.low)), number(100.0 * min(1.0, share.high))
    return f"{percent(share.estimate)} ({low} to {high})" if share.known else percent(share.estimate)


def plus_minus(interval: Interval, decimals: int | None = None) -> str:
    """Return the size of an estimate with its half-width, or its bounds where they lie unevenly.

    Returns
    -------
    str
        Such as "85 ± 12" or "85 (75 to 104)"; only the estimate where there are no bounds, or none that the
        digits shown would tell.

    Examples
    --------
    >>> plus_minus(Interval(-85.2, -97.4, -73.0, 0.95, "paired Student t", 40))
    '85 ± 12'
    >>> plus_minus(Interval(-85.2, -104.0, -75.0, 0.95, "wider of two", 40))
    '85 (75 to 104)'
    """
    size, half = abs(interval.estimate), interval.half_width
    shown = number(size, decimals)
    if not interval.known or half <= _NO_WIDTH * max(size, 1.0):
        return shown
    if abs(interval.high + interval.low - 2 * interval.estimate) > _UNEVEN * half:
        turned = math.copysign(1.0, interval.estimate or interval.low + interval.high)
        low, high = sorted((turned * interval.low, turned * interval.high))
        return _bounds(size, low, high, decimals)
    places = decimals if decimals is not None else _decimals(size) if size > 0 else HUNDREDTHS
    return shown if half < 0.5 * 10.0**-places else f"{shown} ± {number(half, decimals)}"


def from_to(interval: Interval) -> str:
    """Return an estimate of what cannot be below zero, with its bounds.

    Returns
    -------
    str
        Such as "3.2 (1.1 to 6.0)"; only the estimate where there are no bounds, or none that the digits shown
        would tell.

    Examples
    --------
    >>> from_to(Interval(3.21, 1.13, 5.98, 0.95, "BCa bootstrap", 40))
    '3.2 (1.1 to 6.0)'
    >>> from_to(Interval(60.0, -12.0, 366.0, 0.95, "Student t", 4))
    '60 (0 to 366)'
    """
    if not interval.known or interval.half_width <= _NO_WIDTH * max(abs(interval.estimate), 1.0):
        return number(interval.estimate)
    return _bounds(interval.estimate, max(0.0, interval.low), interval.high)


def mean_seen(interval: Interval) -> str:
    """Return a mean of what cannot be below zero; runs without any do not show that there are none."""
    if interval.estimate == interval.high == 0:
        return f"0 (none in {counted(interval.n, 'run')})"
    return from_to(interval)


@dataclass(frozen=True)
class Words:
    """How a difference of one quantity is worded."""

    unit: str  # what follows the amount
    less: str = "less"  # "less", or "fewer" of what is counted
    alike: str = "as much"  # "as much", or "as many" of what is counted
    more: str = "more"  # "more", or "longer" of what lasts
    decimals: int | None = None  # of a unit that has usual decimals; None for the rule of all other numbers

    @property
    def counts(self) -> bool:
        """Whether it is counted: 3 more days, but 3 psi more."""
        return self.less == "fewer"

    def amount(self, size: float) -> str:
        """Return a size without its unit."""
        return number(size, self.decimals)

    def placed(self, amount: str, side: str) -> str:
        """Return an amount with unit and side."""
        parts = (amount, side, self.unit) if self.counts else (amount, self.unit, side)
        return " ".join(filter(None, parts))

    def same(self, how: str, other: str) -> str:
        """Return that it is as much, or as many."""
        parts = (how, self.alike, self.unit if self.counts else "", f"as {other}" if other else "")
        return " ".join(filter(None, parts))


DAYS = Words("days a year below the dose target", "fewer", "as many")


def money(currency: str, span: str = "a year") -> Words:
    """Return how money is worded, by the year where nothing else is said."""
    return Words(f"{currency} {span}".strip())


def bare(gap: float) -> Interval:
    """Return a difference without bounds, such as that of two runs."""
    return Interval(gap, math.nan, math.nan, math.nan, "", 1)


def difference(gap: Interval, words: Words, other: str = "", matters: float = 0.0) -> str:
    """Return a difference in words: more, less, the same, or that it cannot be told.

    Parameters
    ----------
    other : str
        What it is compared with; may be left out.
    matters : float
        Least difference that matters, in the unit of `gap`; within it both ways, it is about as much.

    Examples
    --------
    >>> usd = money("USD")
    >>> difference(Interval(-85.2, -97.4, -73.0, 0.95, "", 40), usd, "'a'")
    "85 ± 12 USD a year less than 'a'"
    >>> difference(Interval(-5.0, -17.0, 7.0, 0.95, "", 40), usd, "'a'")
    "between 17 USD a year less and 7.0 more than 'a' (cannot be told which)"
    >>> difference(Interval(-5.0, -17.0, 7.0, 0.95, "", 40), usd, "'a'", matters=25.0)
    "about as much as 'a' (at most 17 USD a year apart)"
    >>> difference(Interval(-0.2, -8.2, 1.3, 0.95, "", 40), DAYS)
    'between 8.2 fewer and 1.3 more days a year below the dose target (cannot be told which)'
    >>> difference(Interval(0.0, 0.0, 0.0, 0.95, "", 40), DAYS)
    'exactly as many days a year below the dose target'
    """
    than, side = f" than {other}" if other else "", words.less if gap.estimate < 0 else words.more
    if not gap.known or gap.low == gap.high:
        size = words.amount(abs(gap.estimate))
        exact = "exactly" if gap.known and gap.estimate == 0 else ""
        return words.same(exact, other) if _nil(size) else words.placed(size, side) + than
    most = max(abs(gap.low), abs(gap.high))
    if _nil(words.amount(most)) or (gap.low <= 0 <= gap.high and most <= matters):
        apart = words.amount(most) if _nil(words.amount(most)) else f"at most {words.amount(most)}"
        return f"{words.same('about', other)} ({' '.join(filter(None, (apart, words.unit, 'apart')))})"
    if gap.low <= 0 <= gap.high:
        span = either(gap, words)
        return f"{span}{than} ({UNTOLD} {'which' if 'between' in span else 'from none'})"
    return words.placed(plus_minus(gap, words.decimals), side) + than


def either(gap: Interval, words: Words) -> str:
    """Return the span of a difference that may be less or more; one side only where the other is nothing."""
    less, more = words.amount(max(0.0, -gap.low)), words.amount(max(0.0, gap.high))
    if _nil(less):
        return f"at most {words.placed(more, words.more)}"
    if _nil(more):
        return f"at most {words.placed(less, words.less)}"
    if words.counts:
        return f"between {less} {words.less} and {words.placed(more, words.more)}"
    return f"between {words.placed(less, words.less)} and {more} {words.more}"


def counted(count: float, noun: str, plural: str = "") -> str:
    """Return a count, or a number somebody set, with its noun in the singular or the plural.

    Examples
    --------
    >>> counted(1, "day"), counted(0, "day"), counted(1200, "run"), counted(2, "task done", "tasks done")
    ('1 day', '0 days', '1,200 runs', '2 tasks done')
    """
    shown = given(count)
    return f"{shown} {noun if shown == '1' else plural or f'{noun}s'}"


def named(name: str) -> str:
    """Return a name as it stands in a sentence: in quotes, as "as things fail" would read as part of it."""
    return f"'{name}'"


def listed(parts: Sequence[str], last: str = "and") -> str:
    """Return a list as people say it.

    Examples
    --------
    >>> listed(["a", "b", "c"]), listed(["a"]), listed(["a", "b"], "or")
    ('a, b and c', 'a', 'a or b')
    """
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def capital(text: str) -> str:
    """Return a text as it begins a sentence; the rest stays as it is."""
    return f"{text[:1].upper()}{text[1:]}"


def towards(value: float, up: bool) -> str:
    """Return a bound rounded to the side on which what is said of it stays true."""
    if value == 0:
        return "0"
    places = min(_decimals(abs(value)), HUNDREDTHS)
    whole = value * 10.0**places
    return _fixed((math.ceil(whole) if up else math.floor(whole)) / 10.0**places, places)


def _bounds(estimate: float, low: float, high: float, decimals: int | None = None) -> str:
    shown = [number(value, decimals) for value in (estimate, low, high)]
    return shown[0] if len(set(shown)) == 1 else f"{shown[0]} ({shown[1]} to {shown[2]})"


def _nil(shown: str) -> bool:
    """Return whether a number shows as nothing."""
    return shown.startswith("under") or not shown.strip("-0.")


def _decimals(size: float) -> int:
    """Return the decimals a number above zero is shown with; negative for tens and hundreds."""
    exponent = math.floor(math.log10(size))
    if size >= 99.5:
        digits, exponent = 3, max(exponent, 2)
    else:
        digits = 2
    if round(size, digits - 1 - exponent) >= 10.0 ** (exponent + 1):  # 9.96 is 10
        exponent += 1
    return min(digits - 1 - exponent, HUNDREDTHS)


def _fixed(value: float, decimals: int) -> str:
    shown = f"{round(value, decimals) + 0.0:,.{max(decimals, 0)}f}"
    return shown.removeprefix("-") if not shown.strip("-0.") else shown
