"""What the draws over the uncertain inputs say, in sentences and tables."""

import math

import pandas as pd

from sim.scenario.values.numbers import si_unit
from sim.scenario.values.variants import Span
from sim.study.uncertain.robust import NONE, Influence, Robust, Spread, Standing
from sim.study.uncertain.uncertain import Sampled
from sim.study.wording import bare, difference, money, named, number, percents

KEPT = (
    "Kept as stated: prices, limits, what the policies do and when, and what can be read off the site or "
    "a data sheet."
)
HEADINGS = (
    "policy",
    "cheapest, means\nwithin limits in",
    "cost",
    "± inputs",
    "± runs",
    "days below\ntarget",
    "± inputs",
    "± runs",
)
_MOST_NAMED = 4


def sentences(found: Robust, currency: str) -> str:
    """Return the finding in a few sentences."""
    asked = (
        f" of {found.wanted} asked for, as the study was interrupted" if found.draws < found.wanted else ""
    )
    lines = [
        f"{found.inputs} inputs that nobody measured here were drawn together over their ranges in "
        f"{found.draws} draws{asked} (Latin hypercube), {found.replications} runs of each policy a draw. "
        + KEPT,
        _shares(found),
        _difference(found, currency),
        _movers(found),
    ]
    if found.redrawn:
        lines.insert(1, f"In {found.redrawn} draws values did not go together and were drawn anew.")
    return " ".join(filter(None, lines))


def table_rows(found: Robust) -> list[list[str]]:
    """Return the table, a row a policy."""
    return [
        [
            called(one),
            share(one),
            *_cells(one.measures.get("cost")),
            *_cells(one.measures.get("days_below_target")),
        ]
        for one in found.standings
    ]


def draws_frame(sampled: Sampled, found: Robust) -> pd.DataFrame:
    """Return one row a draw and policy: means over its runs, their spread, and the inputs drawn."""
    groups = sampled.rows.groupby(["draw", "policy"], sort=False)
    measures = ["cost", "days_below_target", "water_off_h"]
    means = groups[measures].mean()
    errors = groups[measures].sem().add_suffix("_error")
    table = means.join(errors).reset_index()
    table.insert(2, "runs", groups.size().to_numpy())
    best = {site.number: name for site, name in zip(sampled.sites, found.best, strict=True)}
    table.insert(3, "best", table["draw"].map(best) == table["policy"])
    inputs = pd.DataFrame(
        [
            {"draw": site.number, **{heading(span): site.values[span.key] for span in sampled.spans}}
            for site in sampled.sites
        ]
    )
    return table.merge(inputs, on="draw", how="left", validate="many_to_one")


def inputs_frame(found: Robust) -> pd.DataFrame:
    """Return one row an input, that which moves the difference most first."""
    return pd.DataFrame(
        [
            {
                "input": one.span.key,
                "unit": _unit(one.span),
                "low": one.span.low,
                "high": one.span.high,
                "drawn": _drawn(one.span),
                "grade": one.span.grade,
                "rank_correlation_cost": one.cost_correlation,
                "rank_correlation_days": one.days_correlation,
                "chance_alone": found.chance_correlation,
                "of": found.leader,
                "less": found.rival,
            }
            for one in found.influences
        ]
    )


def called(standing: Standing) -> str:
    """Return the name of a row."""
    return "none within the limits" if standing.policy == NONE else standing.policy


def _called(standing: Standing) -> str:
    return called(standing) if standing.policy == NONE else named(standing.policy)


def share(standing: Standing) -> str:
    """Return the share of draws with its bounds.

    Returns
    -------
    str
        Such as "31 of 50: 62 % (48 to 74)".
    """
    return f"{standing.best_in} of {standing.share.n}: {percents(standing.share)}"


def heading(span: Span) -> str:
    """Return the heading of an input's column."""
    unit = _unit(span)
    return f"{span.key} [{unit}]" if unit else span.key


def _unit(span: Span) -> str:
    return si_unit(span.kind) if span.kind else ""


def _drawn(span: Span) -> str:
    return "evenly in the logarithm" if span.logarithmic else "evenly"


def _cells(spread: Spread | None) -> list[str]:
    if spread is None:
        return ["", "", ""]
    return [number(value) for value in (spread.mean, spread.between, spread.within)]


def _shares(found: Robust) -> str:
    told = [f"{_called(one)} in {share(one)}" for one in found.standings if one.best_in]
    return (
        f"Cheapest with means within the limits: {'; '.join(told)}; bounds at 95 %. The few runs of a draw "
        "give no useful bounds, so means decide here; the comparison asks that the bounds keep the limit."
    )


def _difference(found: Robust, currency: str) -> str:
    if found.leader == found.rival:
        return ""
    one = found.difference
    noise = one.within / math.sqrt(found.replications)
    mixed = (
        " The runs of a draw are too few for their noise to be the smaller part, so take more with --each."
        if noise > one.between
        else ""
    )
    cost = difference(bare(one.mean), money(currency), named(found.rival))
    return (
        f"{named(found.leader)} costs {cost} on average, with a standard deviation of {number(one.between)} "
        f"due to the inputs and {number(one.within)} between runs.{mixed}"
    )


def _movers(found: Robust) -> str:
    if found.leader == found.rival:
        return ""
    told = [text for one in found.influences[:_MOST_NAMED] if (text := _mover(one, found.chance_correlation))]
    chance = (
        f"with {found.inputs} inputs and {found.draws} draws chance alone reaches "
        f"{found.chance_correlation:.2f}"
    )
    if not told:
        return f"No single input stands out in how it moves the difference of the two; {chance}."
    return f"The difference of the two moves most with {'; '.join(told)} (rank correlation; {chance})."


def _mover(one: Influence, chance: float) -> str:
    found = []
    for value, name in ((one.cost_correlation, "cost"), (one.days_correlation, "days")):
        if abs(value) > chance:
            found.append(f"{name} {value:+.2f}")
    return f"{one.span.key}: {', '.join(found)}" if found else ""
