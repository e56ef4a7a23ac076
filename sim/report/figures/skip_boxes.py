"""The train on one day of a skip: what stands in each box, skipped beside kept, with or without the dose."""

from collections.abc import Callable

import pandas as pd

from sim.report.figures.train_boxes import Box, said
from sim.scenario.scenario import Scenario
from sim.study.wording import given, number, percent
from sim.twin.due_drop import due_drop_pa
from sim.units import ShownKind, Units, text


def skip_boxes(
    scenario: Scenario, skipped: pd.Series, kept: pd.Series, units: Units, revealed: bool
) -> list[Box]:
    """Return what stands in each box on a day."""

    def beside(column: str, say: Callable[[float], str]) -> str:
        own, other = (say(float(day[column])) for day in (skipped, kept))
        return f"{own} (kept: {other})" if revealed and own != other else own

    def both(column: str, kind: ShownKind) -> str:
        return beside(column, lambda value: said(value, kind, units))

    gauge = [
        ("gauge, most", both("tank_pressure_max_pa", "pressure")),
        ("gauge, least", both("tank_pressure_min_pa", "pressure")),
    ]
    pump: Box = ("Pump", [("starts of the day", beside("pump_starts", given))], False)
    fed = scenario.cistern.gravity_feed
    found: list[Box] = [("Fed by gravity", gauge, False)] if fed else [pump, ("Pressure tank", gauge, False)]
    for at, stage in enumerate(scenario.stages):
        column = f"drop_pa_{stage.name}"
        due = float(skipped[column]) > due_drop_pa(scenario, at)
        found.append((stage.name, [("drop at reading flow", both(column, "pressure"))], due))
    alarm = bool(skipped["alarm"])
    lamp = [("reading", beside("uv_reading", percent)), ("alarm", "on" if alarm else "quiet")]
    low = float(skipped["dose_least_j_m2"]) < scenario.uv.target_j_m2
    if revealed:
        lamp.append(("least dose of the day", both("dose_least_j_m2", "dose")))
        lamp.append(("dose target", text(scenario.uv.target_j_m2, "dose", units)))
    found.append(("UV", lamp, alarm or (revealed and low)))
    off = float(skipped["water_off_s"]) > 0.0
    house = [("least at the highest tap", both("tap_pressure_min_pa", "pressure")),
             ("water off", beside("water_off_s", lambda s: f"{number(s / 3600.0)} h"))]  # fmt: skip
    found.append(("House", house, off))
    return found
