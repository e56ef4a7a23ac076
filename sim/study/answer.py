"""A comparison in two or three plain sentences, each number with its uncertainty, and what would change it."""

import math

from sim.study.comparison import Comparison, PolicySummary
from sim.study.intervals import FEW_RUNS, Interval

CAUTION = (
    "What is counted is days below the dose target in a simulation, and a simulation is not a water test; "
    "follow local codes and the advice of licensed practice."
)
MONEY_DECIMALS = 2  # no money is spoken of in less than a hundredth
DAYS_DECIMALS = 4
_NO_WIDTH = 1e-9  # relative half-width below which an interval is said to have none
_MANY_TIMES = 100  # more than this many times the runs is no help to anyone


def three_digits(value: float, most_decimals: int = MONEY_DECIMALS) -> str:
    """Return a number to three digits that mean something, without an exponent.

    Parameters
    ----------
    value : float
        Number, finite.
    most_decimals : int
        No more decimals than this.

    Returns
    -------
    str
        As people write it.

    Examples
    --------
    >>> three_digits(12345.6), three_digits(85.04), three_digits(0.0721579, 4)
    ('12,300', '85.0', '0.0722')
    """
    if value == 0:
        return "0"
    return _rounded(value, min(_decimals(abs(value), 3), most_decimals))


def plus_minus(interval: Interval, most_decimals: int = MONEY_DECIMALS) -> str:
    """Return the size of an estimate and its half-width, the half-width to two digits.

    Parameters
    ----------
    interval : Interval
        Symmetric interval; the sign of the estimate is left to the words around it.
    most_decimals : int
        No more decimals than this.

    Returns
    -------
    str
        Such as "85 ± 12"; only the estimate where there is no interval or it has no width.

    Examples
    --------
    >>> plus_minus(Interval(-85.2, -97.4, -73.0, 0.95, "paired Student t", 40))
    '85 ± 12'
    """
    size, half = abs(interval.estimate), interval.half_width
    if not interval.known or half <= _NO_WIDTH * max(size, 1.0):
        return three_digits(size, most_decimals)
    decimals = min(_decimals(half, 2), most_decimals)
    return f"{_rounded(size, decimals)} ± {_rounded(half, decimals)}"


def from_to(interval: Interval, most_decimals: int = DAYS_DECIMALS) -> str:
    """Return an estimate with its bounds, for intervals that are not symmetric.

    Parameters
    ----------
    interval : Interval
        Interval of a quantity that is not negative.
    most_decimals : int
        No more decimals than this.

    Returns
    -------
    str
        Such as "3.2 (1.1 to 6.0)"; only the estimate where there is no interval or it has no width.

    Examples
    --------
    >>> from_to(Interval(3.21, 1.13, 5.98, 0.95, "BCa bootstrap", 40))
    '3.2 (1.1 to 6.0)'
    """
    if not interval.known or interval.half_width <= _NO_WIDTH * max(abs(interval.estimate), 1.0):
        return three_digits(interval.estimate, most_decimals)
    places = min(_decimals(interval.half_width, 2), most_decimals)
    shown = [_rounded(value, places) for value in (interval.estimate, interval.low, interval.high)]
    return f"{shown[0]} ({shown[1]} to {shown[2]})"


def answer(comparison: Comparison, currency: str, asked: int | None = None) -> str:
    """Return the finding in two or three sentences, and the caution.

    Parameters
    ----------
    comparison : Comparison
        From `sim.study.comparison.compare`.
    currency : str
        Name of the money, such as "USD".
    asked : int, optional
        Replications that were asked for; when more than were finished, the study was interrupted and it is said.

    Returns
    -------
    str
        Plain text; `CAUTION` on a line of its own.
    """
    if comparison.runs == 1:
        sentences = _one_run(comparison, currency)
    elif comparison.best is None:
        sentences = [_none_within(comparison)]
    else:
        sentences = [_main(comparison, currency), _others(comparison, currency)]
    sentences.append(_basis(comparison, asked))
    return " ".join(filter(None, sentences)) + "\n" + CAUTION


def what_would_change_this(comparison: Comparison, currency: str = "") -> list[str]:
    """Return what, by the numbers themselves, would change the finding.

    Parameters
    ----------
    comparison : Comparison
        From `sim.study.comparison.compare`.
    currency : str
        Name of the money, such as "USD".

    Returns
    -------
    list of str
        Sentences, the policies nearest to the cheapest first.
    """
    unit = f" {currency} a year" if currency else " a year"
    facts = [_rival(comparison, name, unit) for name in _by_gap(comparison)]
    facts += _limit_facts(comparison, unit)
    if all(item.runs_with_days == 0 for item in comparison.summaries):
        facts.append("No policy had a day below the dose target in any run, so only cost tells them apart.")
    if comparison.runs < FEW_RUNS:
        runs = _count(comparison.runs, "run")
        facts.append(
            f"With {runs} the intervals lean on assumptions; {FEW_RUNS} or more would show the spread."
        )
    return facts


def _main(comparison: Comparison, currency: str) -> str:
    best = comparison.summary(str(comparison.best))
    days = _days_phrase(best, comparison)
    if best.policy == comparison.reference:
        cost = f"{plus_minus(best.cost)} {currency} a year"
        rank = "is the only one within the limit, at" if len(comparison.gaps) == 1 else "costs the least,"
        rank = "costs" if len(comparison.summaries) == 1 else rank
        return f"{_start(best.policy)}{_as_reference(comparison)} {rank} {cost} and {days}."
    difference = next(item.cost for item in comparison.differences if item.policy == best.policy)
    return f"{_start(best.policy)} {_cost_phrase(difference, comparison.reference, currency)} and {days}."


def _as_reference(comparison: Comparison) -> str:
    return ", the reference," if len(comparison.summaries) > 1 else ""


def _cost_phrase(difference: Interval, reference: str, currency: str) -> str:
    """Return how the yearly cost stands to that of the reference."""
    if difference.estimate == 0 and difference.half_width == 0:
        return f"costs the same as {reference} in every run"
    side = "less" if difference.estimate < 0 else "more"
    amount = f"{plus_minus(difference)} {currency} a year {side} than {reference}"
    if difference.low <= 0 <= difference.high:
        return f"costs about as much as {reference} ({amount}, which may be no difference)"
    return f"costs {amount}"


def _days_phrase(summary: PolicySummary, comparison: Comparison) -> str:
    """Return days below the dose target, with the share of runs or the bounds."""
    share = f"{summary.runs - summary.runs_with_days} of {summary.runs} runs"
    if summary.runs_with_days == 0:
        bound = f"upper bound {_rounded_percent(summary.share_upper_bound)} % of runs"
        alone = len(comparison.summaries) == 1
        every = not alone and all(item.runs_with_days == 0 for item in comparison.summaries)
        also = ", as does every policy" if every else ""
        return f"leaves no day below the dose target in {share}{also} ({bound})"
    days = from_to(summary.days_below_target)
    return f"leaves {days} days a year below the dose target, none in {share}"


def _others(comparison: Comparison, currency: str) -> str:
    """Return who may be as cheap, who is next, and who was left out before cost."""
    clauses = []
    if comparison.not_distinguishable:
        clauses.append(
            f"these runs cannot tell its cost from that of {_listed(comparison.not_distinguishable)}"
        )
    elif comparison.best == comparison.reference and len(comparison.gaps) > 1:
        after = _by_gap(comparison)[0]
        clauses.append(f"next is {after}, {plus_minus(comparison.gaps[after])} {currency} a year more")
    out = [item for item in comparison.summaries if not item.within_limit]
    if out:
        names = [f"{item.policy} ({_bound_phrase(item)})" for item in out] if len(out) <= 3 else _names(out)
        limit = f"{comparison.limit_days_below_target:g} days a year below the dose target"
        clauses.append(f"left out before cost, for the limit of {limit}: {_listed(names)}")
    return _start("; ".join(clauses)) + "." if clauses else ""


def _bound_phrase(summary: PolicySummary) -> str:
    days = summary.days_below_target
    bound = three_digits(days.high, DAYS_DECIMALS)
    return f"{three_digits(days.estimate, DAYS_DECIMALS)}, upper bound {bound}"


def _none_within(comparison: Comparison) -> str:
    fewest = min(comparison.summaries, key=lambda item: item.days_below_target.estimate)
    if comparison.limit_days_below_target == 0:
        first = (
            "No number of runs can show a limit of 0 days below the dose target, so costs are not compared."
        )
    else:
        limit = f"{comparison.limit_days_below_target:g} days a year below the dose target"
        first = f"No policy is shown to keep within the limit of {limit}, so costs are not compared."
    days = from_to(fewest.days_below_target)
    affected = f"with any in {fewest.runs_with_days} of {fewest.runs} runs"
    return f"{first} The fewest are with {fewest.policy}: {days} a year, {affected}."


def _one_run(comparison: Comparison, currency: str) -> list[str]:
    limit = comparison.limit_days_below_target
    within = [item for item in comparison.summaries if item.days_below_target.estimate <= limit]
    if within:
        shown = min(within, key=lambda item: item.cost.estimate)
    else:
        shown = min(comparison.summaries, key=lambda item: item.days_below_target.estimate)
    cost = f"{three_digits(shown.cost.estimate)} {currency} a year"
    if shown.policy != comparison.reference:
        less = comparison.summary(comparison.reference).cost.estimate - shown.cost.estimate
        side = "less" if less > 0 else "more"
        cost = f"{three_digits(abs(less))} {currency} a year {side} than {comparison.reference}"
    days = three_digits(shown.days_below_target.estimate, DAYS_DECIMALS)
    seen = "no day" if days == "0" else f"{days} days a year"
    return [
        "One run: no interval can be given, and no policy is called the cheapest.",
        f"In it {shown.policy} cost {cost} and left {seen} below the dose target.",
    ]


def _basis(comparison: Comparison, asked: int | None) -> str:
    """Return what the numbers rest on."""
    runs = _count(comparison.runs, "run")
    each = f"of {comparison.years:.3g} {'year' if comparison.years == 1 else 'years'}"
    if asked is not None and asked > comparison.runs:
        rest = f"{comparison.runs} of {asked} runs {each}, as the study was interrupted"
    elif comparison.runs == 1:
        return ""
    else:
        rest = f"{runs} {each}"
    if comparison.runs == 1:
        return f"This rests on {rest}."
    return f"Intervals are at {100 * comparison.confidence:g} % confidence, from {rest}."


def _by_gap(comparison: Comparison) -> list[str]:
    """Return the other policies within the limit, cheapest first."""
    others = [name for name in comparison.gaps if name != comparison.best]
    return sorted(others, key=lambda name: comparison.gaps[name].estimate)


def _rival(comparison: Comparison, name: str, unit: str) -> str:
    """Return what it takes for another policy to be the cheapest."""
    gap = comparison.gaps[name]
    if gap.low > 0:
        low, high = three_digits(gap.low), three_digits(gap.high)
        return (
            f"{_start(name)} would have to become {low} to {high}{unit} cheaper to match {comparison.best}."
        )
    if gap.estimate <= 0:
        return f"{_start(name)} costs as much as {comparison.best}; choose between them by something else."
    text = f"{_start(name)} may be the cheapest: {plus_minus(gap)}{unit} above {comparison.best}"
    runs = math.ceil(comparison.runs * (gap.half_width / gap.estimate) ** 2)
    if runs > _MANY_TIMES * comparison.runs:
        return f"{text}; a difference this small is not worth the runs to settle it."
    return (
        f"{text}; about {runs:,} runs in place of {comparison.runs} would settle a difference of this size."
    )


def _limit_facts(comparison: Comparison, unit: str) -> list[str]:
    """Return which limits of days below the dose target would let a policy in or put the cheapest out."""
    facts = []
    if comparison.best is not None:
        bound = three_digits(comparison.summary(comparison.best).days_below_target.high, DAYS_DECIMALS)
        facts.append(
            f"A limit under {bound} days a year below the dose target would put {comparison.best} out."
        )
    for item in comparison.summaries:
        days = item.days_below_target
        if item.within_limit or not days.known:
            continue
        text = f"A limit of {three_digits(days.high, DAYS_DECIMALS)} days a year or more would let {item.policy} in"
        if comparison.best is not None:
            less = comparison.summary(comparison.best).cost.estimate - item.cost.estimate
            side = "less" if less > 0 else "more"
            text += f", which cost {three_digits(abs(less))}{unit} {side} than {comparison.best}"
        close = 0 < days.estimate <= comparison.limit_days_below_target
        facts.append(
            f"{text}; its mean is within the limit, so more runs might too." if close else f"{text}."
        )
    return facts


def _names(summaries: list[PolicySummary]) -> list[str]:
    return [item.policy for item in summaries]


def _listed(names: list[str] | tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _start(text: str) -> str:
    return text[:1].upper() + text[1:]


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _rounded_percent(share: float) -> str:
    return _rounded(100 * share, _decimals(100 * share, 2))


def _decimals(value: float, digits: int) -> int:
    """Return the decimals (negative: tens, hundreds) that show this many digits of a number above zero."""
    exponent = math.floor(math.log10(value))
    if round(value, digits - 1 - exponent) >= 10.0 ** (exponent + 1):
        exponent += 1
    return digits - 1 - exponent


def _rounded(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:,.{max(decimals, 0)}f}"
