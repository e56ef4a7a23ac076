"""How rows were taken where they leave it open: without a unit, without a flow, with a zone of the clock."""

import re
from collections.abc import Sequence
from datetime import date

from sim.diary.book import Cells
from sim.diary.entries import ONE_GAUGE, reading_of
from sim.diary.properties import property_of
from sim.diary.read.logger import IN_UTC
from sim.scenario.read.refusal import short
from sim.scenario.scenario import Scenario
from sim.study.first_few import few
from sim.study.wording import counted, listed

_ZONE = re.compile(r"T.*(Z|[+-]\d\d:?\d\d)$")


def taken_as(rows: Sequence[Cells], scenario: Scenario, today: date) -> list[str]:
    """Return a line for each thing that rows of readings leave open."""
    named = [cells for cells in rows if cells["observed_property"] and cells["result"]]
    zoned = [cells for cells in rows if _ZONE.search(cells["phenomenon_time"])]
    found = [_units(named, scenario), _flows(named, scenario, today)]
    if zoned:
        found.append(
            f"Took times as the clock of the house shows them: {counted(len(zoned), 'zone')} left out."
        )
    if any(cells.get("note") == IN_UTC for cells in rows):
        found.append(
            "Took days as the logger's clock has them, from midnight to midnight UTC: "
            "have it write local time where your house has another."
        )
    return [line for line in found if line]


def _units(rows: Sequence[Cells], scenario: Scenario) -> str:
    without = [cells for cells in rows if not cells.get("unit", "").strip()]
    taken = {name: one.unit for one, name in (property_of(c["observed_property"], scenario) for c in without)}
    told = [f"{name} in {unit}" for name, unit in taken.items() if unit]
    return f"Took numbers without a unit: {listed(told)}." if told else ""


def _flows(rows: Sequence[Cells], scenario: Scenario, today: date) -> str:
    """Return which words on how a drop was read say nothing of flow or gauges."""
    told = {}
    for cells in rows:
        how = cells.get("procedure", "").strip()
        if how and ONE_GAUGE not in how.casefold():
            reading = reading_of(cells, scenario, today)
            if reading.stage and not reading.flow_m3_s and reading.gauges == 1:
                told[how] = short(how)
    if not told:
        return ""
    words = f"{few(list(told.values()))} {'name' if len(told) > 1 else 'names'}"
    return f"Took drops as read by one gauge with one tap open: {words} no flow and no two gauges."
