"""The train as a row of boxes in the order water flows, with what each showed at a time of a day."""

from collections.abc import Sequence
from html import escape

import pandas as pd

from sim.report.figures.day_moment import Moment
from sim.scenario.scenario import Scenario
from sim.study.wording import capital, given, listed, number, percent
from sim.units import ShownKind, Units, text

Box = tuple[str, list[tuple[str, str]], bool]  # name, lines of label and value, whether to look at it

STYLE = """<style>
ol.train {display: flex; flex-wrap: wrap; gap: 0.6rem; list-style: none; padding: 0; margin: 0;}
ol.train > li {flex: 1 1 9rem; border: 2px solid currentColor; border-radius: 6px;
  padding: 0.5rem 0.7rem; margin: 0;}
ol.train > li + li h3::before {content: "\\2192\\00a0";}
ol.train > li.look {border: 3px dashed #D55E00;}
ol.train h3 {margin: 0 0 0.3rem 0; padding: 0; font-size: 1rem;}
ol.train dl, ol.train dt, ol.train dd {margin: 0; padding: 0; font-size: 0.85rem;}
ol.train dt {font-weight: 400;}
ol.train dd {margin-bottom: 0.25rem; font-weight: 600;}
</style>"""


def boxes(scenario: Scenario, day: pd.Series, now: Moment, units: Units) -> list[Box]:
    """Return what stands in each box at a time of a day."""
    found: list[Box] = [
        ("Roof", [("rain of the day", said(day["rain_m"], "rain", units))], False),
        ("Cistern", [("holds at midnight", said(day["cistern_m3"], "volume", units))], False),
        ("Pump", [("now", "running" if now.pump_on else "at rest"),
                  ("starts of the day", given(float(day["pump_starts"]))),
                  ("ran", f"{number(float(day['pump_run_s']) / 60)} min")], False),
        ("Pressure tank", [("gauge", said(now.pressure_pa, "pressure", units)),
                           ("of the day", _range(day, units))], False),
    ]  # fmt: skip
    for stage in scenario.stages:
        lines = [
            ("drop at this flow", said(now.drops_pa[stage.name], "pressure", units)),
            ("at reading flow", said(day[f"drop_pa_{stage.name}"], "pressure", units)),
        ]
        found.append((stage.name, lines, False))
    found.append(_lamp(scenario, day, now, units))
    short_h = float(day["water_off_s"]) / 3600.0
    drawn = listed(now.uses) or "no tap open"
    house = [("flow", said(now.flow_m3_s, "flow", units)), ("draws", drawn)]
    house += [("least at the highest tap", said(day["tap_pressure_min_pa"], "pressure", units))]
    house += [("water off", f"{number(short_h)} h of the day")]
    found.append(("House", house, short_h > 0))
    return found


def _lamp(scenario: Scenario, day: pd.Series, now: Moment, units: Units) -> Box:
    target = scenario.uv.target_j_m2
    least = float(day["dose_least_j_m2"])
    low = least < target or now.dose_j_m2 < target  # nan, no water drawn, is not low
    lines = [
        ("reading", f"{percent(now.uv_reading)} of new and clean"),
        ("dose at this flow", said(now.dose_j_m2, "dose", units)),
        ("least dose of the day", said(least, "dose", units)),
        ("dose target", said(target, "dose", units)),
        ("lamp", "lit and warm" if now.lamp_warm else "dark or warming up"),
        ("alarm", "on" if now.alarm else "quiet"),
    ]
    if low:
        lines.append(("look", "dose under the target"))
    return "UV", lines, low or now.alarm or not now.lamp_warm


def said(value: float, kind: ShownKind, units: Units) -> str:
    """Return a quantity that is there only while water is drawn."""
    return "no water drawn" if pd.isna(value) else text(float(value), kind, units)


def _range(day: pd.Series, units: Units) -> str:
    low, high = (said(day[f"tank_pressure_{end}_pa"], "pressure", units) for end in ("min", "max"))
    return f"{low} to {high}"


def train_html(found: Sequence[Box]) -> str:
    """Return the boxes as an ordered list, which a screen reader reads in the order water flows."""
    items = []
    for name, lines, look in found:
        told = "".join(f"<dt>{escape(label)}</dt><dd>{escape(value)}</dd>" for label, value in lines)
        mark = ' class="look"' if look else ""
        items.append(f"<li{mark}><h3>{escape(capital(name))}</h3><dl>{told}</dl></li>")
    return f'{STYLE}<ol class="train">{"".join(items)}</ol>'
