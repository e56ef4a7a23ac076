"""The train as a row of boxes in the order water flows, with what each showed on a day."""

from collections.abc import Sequence
from html import escape

import pandas as pd

from sim.scenario.scenario import Scenario
from sim.units import text

Box = tuple[str, list[tuple[str, str]], bool]  # name, lines of label and value, whether to look at it

STYLE = """<style>
ol.train {display: flex; flex-wrap: wrap; gap: 0.6rem; list-style: none; padding: 0; margin: 0;}
ol.train > li {flex: 1 1 9rem; border: 2px solid currentColor; border-radius: 6px;
  padding: 0.5rem 0.7rem; margin: 0;}
ol.train > li + li h4::before {content: "\\2192\\00a0";}
ol.train > li.look {border: 3px dashed #D55E00;}
ol.train h4 {margin: 0 0 0.3rem 0; padding: 0; font-size: 1rem;}
ol.train dl, ol.train dt, ol.train dd {margin: 0; padding: 0; font-size: 0.85rem;}
ol.train dt {font-weight: 400;}
ol.train dd {margin-bottom: 0.25rem; font-weight: 600;}
</style>"""


def boxes(scenario: Scenario, day: pd.Series, units: str) -> list[Box]:
    """Return what stands in each box on a day.

    Parameters
    ----------
    scenario : Scenario
        The site; its stages are the boxes between pressure tank and UV.
    day : Series
        A row of the days of a run.
    units : str
        "us" or "si".

    Returns
    -------
    list of Box
        In the order water flows.
    """

    def value(column: str, kind: str) -> str:
        number = float(day[column])
        return "no water drawn" if pd.isna(number) else text(number, kind, units)

    gauge = f"{value('tank_pressure_min_pa', 'pressure')} to {value('tank_pressure_max_pa', 'pressure')}"
    dose = day["dose_least_j_m2"]
    low = bool(dose < scenario.uv.target_j_m2)  # nan, no water drawn, is not low
    short_h = float(day["water_off_s"]) / 3600.0
    found: list[Box] = [
        ("Roof", [("rain", value("rain_m", "rain"))], False),
        ("Cistern", [("holds", value("cistern_m3", "volume"))], False),
        ("Pump", [("ran", f"{float(day['pump_run_s']) / 60:.0f} min"),
                  ("starts", f"{float(day['pump_starts']):.0f}")], False),
        ("Pressure tank", [("gauge", gauge)], False),
    ]  # fmt: skip
    for stage in scenario.stages:
        found.append(
            (stage.name, [("drop at reading flow", value(f"drop_pa_{stage.name}", "pressure"))], False)
        )
    reading = [
        ("reading", f"{100 * float(day['uv_reading']):.0f} % of new and clean"),
        ("least dose", value("dose_least_j_m2", "dose")),
        ("dose target", text(scenario.uv.target_j_m2, "dose", units)),
        ("alarm", "on" if bool(day["alarm"]) else "quiet"),
    ]
    if low:
        reading.append(("look", "least dose under the target"))
    found.append(("UV", reading, low or bool(day["alarm"])))
    house = [
        ("largest flow of a draw", value("draw_flow_max_m3_s", "flow")),
        ("least at the highest tap", value("tap_pressure_min_pa", "pressure")),
        ("water off", f"{short_h:.1f} h"),
    ]
    found.append(("House", house, short_h > 0))
    return found


def train_html(found: Sequence[Box]) -> str:
    """Return the boxes as an ordered list, which a screen reader reads in the order water flows.

    Parameters
    ----------
    found : sequence of Box
        As from `boxes`.

    Returns
    -------
    str
        HTML; every name is escaped.
    """
    items = []
    for name, lines, look in found:
        told = "".join(f"<dt>{escape(label)}</dt><dd>{escape(value)}</dd>" for label, value in lines)
        mark = ' class="look"' if look else ""
        items.append(f"<li{mark}><h4>{escape(name)}</h4><dl>{told}</dl></li>")
    return f'{STYLE}<ol class="train">{"".join(items)}</ol>'
