"""Prices and rows that a slip of the pen would move: each figure worked out by hand."""

from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.errors import BalanceError
from sim.outcome.measures import row
from sim.report.html import handout
from sim.study.compare.comparison import compare
from sim.study.compare.comparison_tables import side_by_side
from sim.study.skip.months import months_of
from sim.twin import run as twin
from sim.twin.history import Balance

AT_ONCE = {"adherence": 1.0, "delay": "0 d", "technician_lead": "0 d"}
STEADY = {"saifi": 0.0}


def test_a_technician_costs_call_out_and_hours_and_none_of_the_owners_time(tiny, short, policy):
    # Two gutter clearings of 90 min, each a visit of its own: 2 x 70 to come and 2 x 1.5 h x 80.
    # Twice the call-out would be 140 more, twice the hour 240 more.
    prices = {"technician_fee": 70.0, "technician_hour": 80.0, "owner_hour": 15.0}
    scenario = tiny(people=AT_ONCE | prices, power=STEADY, cistern={"top_up_below": 0.0})
    way = policy(
        {"task": "clear gutters and diverter", "when": "calendar", "every": "30 d", "by": "technician"}
    )
    found = row(twin.run(scenario, way, short(scenario, 80, rain_m=np.full(80, 5e-3))))
    assert found["visits"] * found["years"] == pytest.approx(2.0)
    assert found["cost_callouts"] * found["years"] == pytest.approx(140.0, rel=1e-12)
    assert found["cost_labour"] * found["years"] == pytest.approx(240.0, rel=1e-12)
    assert found["owner_h"] == 0.0


def test_a_tanker_costs_its_way_and_its_water(tiny, short, policy):
    # Each load of 2 m3: 100 to come and 2 x 10 for water, 120. Twice the load would be 100 more, twice the
    # water 20 more.
    scenario = tiny(
        people=AT_ONCE, power=STEADY,
        prices={"tanker_load": 100.0, "tanker_m3": 10.0},
        cistern={"start_fill": 0.4, "top_up_below": 0.5, "top_up": "2 m3", "top_up_lead": "1 d"},
    )  # fmt: skip
    history = twin.run(scenario, policy(), short(scenario, 10, rain_m=np.zeros(10)))
    loads = [event.value for event in history.events if event.kind == "tanker"]
    assert loads and loads == pytest.approx([2.0] * len(loads))
    found = row(history)
    assert found["cost_water"] * found["years"] == pytest.approx(120.0 * len(loads), rel=1e-12)
    assert found["tanker_loads"] * found["years"] == pytest.approx(len(loads))


@pytest.mark.parametrize(("share", "refused"), [(0.8e-9, False), (1.3e-9, True)])
def test_a_run_that_loses_a_billionth_is_refused(tiny, short, policy, monkeypatch, share, refused):
    # accuracy.csv: ledger_error 1e-9 of what went through, here 10 that are there at first.
    lost = (Balance("water", 10.0, 0.0, 0.0, 0.0, 0.0, 10.0 * (1.0 - share)),)
    monkeypatch.setattr(twin, "balances", lambda world: lost)
    scenario = tiny()
    if refused:
        with pytest.raises(BalanceError, match="water does not balance"):
            twin.run(scenario, policy(), short(scenario, 1))
    else:
        twin.run(scenario, policy(), short(scenario, 1))


OWN = {
    "hours without enough light": "low_light_h", "silent days": "silent_days", "visits": "visits",
    "owner hours": "owner_h", "water asked for and not had, m3": "unmet_m3",
}  # fmt: skip


def runs_of(policy, first):
    """Twelve runs alike; the figures count on from the first, so that no two are the same."""
    own = {name: float(first + number) for number, name in enumerate(OWN.values())}
    same = {
        "years": 1.0,
        "water_off_h": 3.0,
        "alarm_h": 2.0,
        "days_below_target": 0.0,
        "least_dose_j_m2": 400.0,
    }
    return pd.DataFrame(
        {"policy": policy, "replication": np.arange(12), "cost": 100.0 + np.arange(12)} | same | own
    )


@pytest.mark.parametrize("short_of_room", [True, False])
def test_a_table_shows_each_policy_its_own_figures(short_of_room):
    rows = pd.concat([runs_of("reference", 11), runs_of("other", 31), runs_of("third", 51)])
    found = compare(rows, "reference", 5.0)
    headings, lines = side_by_side(found, rows, "USD", short=short_of_room)
    by_policy = {line[0]: line for line in lines}
    brief = {"no\nlight h": 0, "silent\ndays": 1, "visits": 2, "owner\nhours": 3}
    wanted = brief if short_of_room else {heading: number for number, heading in enumerate(OWN)}
    for policy, first in (("reference", 11), ("other", 31), ("third", 51)):
        shown = {heading: by_policy[policy][headings.index(heading)] for heading in wanted}
        assert shown == {heading: str(first + number) for heading, number in wanted.items()}


def test_months_of_a_handout_are_those_of_the_calendar(tiny, short, policy):
    # From 20 December on: the skip on the sixth day is of 25 December, the next month begins the year after.
    scenario = tiny(years=1).model_copy(update={"start": date(2021, 12, 20)})
    history = twin.run(scenario, policy(), short(scenario, 40))
    months = months_of(history, history, 5, (), "us")
    assert [(month.number, month.first) for month in months] == [
        (1, date(2021, 12, 25)),
        (2, date(2022, 1, 1)),
    ]
    assert handout._months(SimpleNamespace(months=months)) == [["Dec 2021 to Jan 2022", handout.AS_IT_WOULD]]
