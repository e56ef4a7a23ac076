"""The report of a comparison: one HTML file that needs nothing else, the answer first."""

import math
from collections.abc import Mapping
from typing import Any

import pandas as pd
import plotly.graph_objects as go
from markupsafe import Markup

from sim.report.figures import run_figure
from sim.report.figures.comparison_figures import Plate, comparison_plates, readable
from sim.report.figures.style import PLOT
from sim.report.html.template import filled
from sim.scenario.scenario import Scenario
from sim.scenario.values import ranges
from sim.study.check.criteria import judged
from sim.study.check.in_runs import with_runs
from sim.study.check.tables import CRITERIA_HEADINGS, criteria_rows
from sim.study.compare.comparison import Comparison
from sim.study.compare.comparison_tables import side_by_side
from sim.study.compare.headline import spoken_of
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.compare.sentences import LEAD
from sim.study.one_run.question import RunQuestion
from sim.study.questions import ask
from sim.study.uncertain import robust_words
from sim.study.uncertain.question import UncertainAnswer
from sim.study.wording import DAYS, difference, money, percent
from sim.units import SHOWN, ShownKind, Units, from_si

HISTORY_COLUMNS: dict[str, ShownKind] = {
    "tank_pressure_min_pa": "pressure",
    "tap_pressure_min_pa": "pressure",
    "dose_least_j_m2": "dose",
}


def build(
    question: CompareQuestion, answer: CompareAnswer, units: Units, drawn: UncertainAnswer | None = None
) -> str:
    """Return the report as HTML."""
    scenario, comparison, rows = question.site.scenario, answer.comparison, answer.rows
    currency = scenario.prices.currency
    plates = [*comparison_plates(rows, comparison, scenario.goals, currency)]
    for name in _shown_histories(comparison):
        run = RunQuestion(
            site=question.site, policy=name, years=question.years, seed=question.seed,
            tables=("days", "events"),
        )  # fmt: skip
        plates.append(_history_plate(scenario, name, ask(run).tables, units))
    robust = drawn.robust if drawn is not None else None
    headings, table = side_by_side(comparison, rows, currency)
    on_paper = judged(scenario, units, question.site.rain)
    return filled(
        "report.html.j2",
        site=scenario.name,
        answer=answer.sentences,
        lead=LEAD,
        changes=answer.changes,
        criteria_headings=CRITERIA_HEADINGS,
        criteria=criteria_rows(with_runs(on_paper, comparison, rows, spoken_of(comparison).policy, units)),
        headings=headings,
        table=table,
        extrapolated=ranges.said(ranges.joined(rows.get("extrapolated", ()))),
        confidence=percent(comparison.confidence),
        reference=comparison.reference,
        pairs=_pairs(comparison, currency),
        plates=[(plate, picture(plate.figure, plate.name), cells(plate.table)) for plate in plates],
        robust=robust
        and {
            "said": robust_words.sentences(robust, currency),
            "headings": robust_words.HEADINGS,
            "rows": robust_words.table_rows(robust),
        },
        manifest=manifest_lines(
            answer.manifest if drawn is None else answer.manifest | {"uncertain": drawn.manifest}
        ),
    )


def _pairs(comparison: Comparison, currency: str) -> list[list[str]]:
    """Return what running every policy against the same weather and draws has bought, as measured."""
    return [
        [
            item.policy,
            difference(item.cost, money(currency)),
            difference(item.days_below_target, DAYS),
            _figure(item.cost_correlation),
            _figure(item.cost_variance_ratio),
        ]
        for item in comparison.differences
    ]


def _figure(value: float) -> str:
    return "cannot be told" if math.isnan(value) else f"{value:.2f}"


def _shown_histories(comparison: Comparison) -> list[str]:
    """Return the reference and, of the others, the one with most days below target."""
    others = [item for item in comparison.summaries if item.policy != comparison.reference]
    worst = max(
        others, key=lambda item: (item.days_below_target.estimate, item.water_off_h.estimate), default=None
    )
    return [comparison.reference, *([worst.policy] if worst else [])]


def _history_plate(scenario: Scenario, name: str, tables: dict[str, pd.DataFrame], units: Units) -> Plate:
    days, events = tables["days"], tables["events"]
    stages = [stage.name for stage in scenario.stages]
    uv = scenario.uv
    return Plate(
        name="history-" + "".join(c if c.isalnum() else "-" for c in name),
        title=f"One run of “{name}” (replication 0)",
        alt=run_figure.history_alt(days, events, name, uv.target_j_m2),
        figure=run_figure.history_figure(days, events, stages, units, uv.target_j_m2, uv.alarm),
        table=by_month(days, units),
        shows_dose=True,
    )


def cells(table: pd.DataFrame) -> list[list[str]]:
    """Return a table as text: rows as people read them; what is not known is "none"."""
    rows = readable(table).itertuples(index=False)
    return [[_cell(value) for value in row] for row in rows]


def _cell(value: Any) -> str:
    if isinstance(value, float):
        return "none" if math.isnan(value) else f"{value:,.10g}"
    return f"{value:,}" if isinstance(value, int) else str(value)


def by_month(days: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Return the least of each month, for the table under a history."""
    month = pd.to_datetime(days["date"]).dt.strftime("%Y-%m")
    groups = days.groupby(month)
    table = pd.DataFrame({"month": list(groups.groups)})
    for column, kind in HISTORY_COLUMNS.items():
        unit = SHOWN[units][kind].unit
        label = f"least {column.split('_')[0]} {kind}, {unit}".replace("dose dose", "dose")
        table[label] = [from_si(float(value), unit, kind) for value in groups[column].min()]
    table["least UV reading, %"] = [100 * float(value) for value in groups["uv_reading"].min()]
    table["water off, h"] = [float(value) / 3600 for value in groups["water_off_s"].sum()]
    return table


def picture(figure: go.Figure, name: str) -> Markup:
    """Return a figure as a piece of HTML, without the library."""
    return Markup(figure.to_html(full_html=False, include_plotlyjs=False, config=PLOT, div_id=name))


def manifest_lines(manifest: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return a manifest as people read it, a line a key."""
    return [(key.replace("_", " "), _said(value)) for key, value in manifest.items()]


def _said(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_said(item)}" for name, item in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
