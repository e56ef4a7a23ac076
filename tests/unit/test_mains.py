"""Mains behind the rain: when the float valve opens and shuts, what it brings, costs, what is refused."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.errors import InputError
from sim.outcome.frames import days_frame
from sim.outcome.measures import row
from sim.scenario.read.load import load_text
from sim.study.check.criteria import judged
from sim.study.check.criterion import FAIL, PASS
from sim.study.search.alternatives import choices, parse_try
from sim.study.search.catalogue import equipment
from sim.study.sheet.contents import inputs, tags
from sim.supply import cistern
from sim.twin.run import run

GPM = 6.30902e-5
DEMO = 'extends = "family_house"\n'
WITH = {"mains_flow": "2 gpm", "mains_below": 0.3, "mains_until": 0.4, "top_up_below": 0.0}


def with_mains(lines='mains_flow = "3 gpm"'):
    return load_text(f"{DEMO}[cistern]\n{lines}\n", "mains.toml")


def bare(plant, **over):
    """A cistern of 1 m2, intake at 0.1 m3, restart at 0.3; the valve lets in 0.2 L/s from 0.5 to 1.5 m3."""
    values = {
        "floor_m2": 1.0, "intake_m3": 0.1, "restart_m3": 0.3, "mains_m3_s": 2e-4, "mains_below_m3": 0.5,
        "mains_until_m3": 1.5, "leak_coefficient": 0.0,
    }  # fmt: skip
    return plant(**{**values, **over})


def test_it_fills_from_where_it_opens_to_where_it_shuts_in_volume_over_flow(plant):
    house = bare(plant)
    house.s["cistern_m3"] = 0.4
    house.run(4000.0)
    assert float(house.s["cistern_m3"][0]) == pytest.approx(0.4 + 4000.0 * 2e-4, rel=1e-12)
    house.run(5600.0)  # full after 5500 s
    assert float(house.s["cistern_m3"][0]) == pytest.approx(1.5, rel=1e-12)
    assert float(house.s["mains_m3"][0]) == pytest.approx(1.1, rel=1e-12)
    assert int(house.s["mains_on"][0]) == 0


def test_between_the_levels_it_stays_as_it_was(plant):
    house = bare(plant)
    house.s["cistern_m3"] = 1.0
    assert float(house.run(3600.0).s["mains_m3"][0]) == 0.0


def test_a_pump_that_tripped_starts_when_the_mains_have_brought_enough(plant, tap):
    house = bare(plant).draw([[0.0, tap(9.0), 7200.0, math.inf]])
    house.s["cistern_m3"], house.s["water_m3"] = 0.1, 0.0
    house.run(7200.0)
    assert house.runs[0][0] == pytest.approx(
        (0.3 - 0.1) / 2e-4, abs=1e-3
    )  # restart less intake, over the flow


def test_dilution_against_its_differential_equation():
    volume, dt = 2.0, 86400.0
    for drawn, inflow in ((0.4, 1.0), (1.5, 0.5), (0.7, 0.7), (3.0, 2.5), (0.0, 1.0)):
        settling = 1e-5

        def change(t, state, out=drawn / dt, into=inflow / dt, settles=settling):
            held = state[0] / (volume + (into - out) * t)
            return [-(out + settles) * held, out * held, settles * held]

        exact = solve_ivp(change, (0.0, dt), [2.0, 0.0, 0.0], method="DOP853", rtol=1e-12, atol=1e-15)
        got = cistern.draw_and_settle(2.0, volume, drawn, settling, dt, inflow)
        np.testing.assert_allclose(got, exact.y[:, -1], rtol=1e-9, atol=1e-12)
        assert sum(got) == pytest.approx(2.0, rel=1e-14)


def test_an_even_exchange_of_one_volume_leaves_one_over_e():
    # A stirred tank at constant volume: Levenspiel, Chemical Reaction Engineering, chapter 11
    assert cistern.draw_and_settle(1.0, 5.0, 5.0, 0.0, 60.0, 5.0)[0] == pytest.approx(
        math.exp(-1.0), rel=1e-14
    )


def test_a_dry_roof_is_made_up_by_the_mains_and_paid_by_the_m3(tiny, short):
    site = tiny(cistern=WITH, roof={"area": "0.5 m2"}, prices={"mains_m3": 5.0})
    history = run(site, site.policies[0], short(site, 60))
    found, brought_m3 = row(history), float(history.mains_m3.sum())
    assert max(one.error for one in history.balances) < 1e-9
    assert found["cistern_empty_days"] == 0.0 and found["tanker_loads"] == 0.0
    assert found["cost_water"] * found["years"] == pytest.approx(5.0 * brought_m3, rel=1e-12)
    assert history.cistern_m3.min() > 0.29 * site.cistern.capacity_m3  # a draw or so below where it opens
    assert brought_m3 > 0.5 * found["supplied_m3"] * found["years"]
    assert float(days_frame(history)["mains_m3"].sum()) == brought_m3


def test_without_mains_nothing_comes_and_nothing_is_paid(tiny, short):
    site = tiny(cistern={"top_up_below": 0.0})
    history = run(site, site.policies[0], short(site, 30))
    assert history.mains_m3.sum() == 0.0 and row(history)["cost_water"] == 0.0


def test_mains_water_is_clear(tiny, short):
    plain = tiny(cistern={"top_up_below": 0.0}, roof={"area": "0.5 m2"})
    fed = tiny(cistern={**WITH, "mains_below": 0.6, "mains_until": 0.9}, roof={"area": "0.5 m2"})
    rain_only, mixed = (run(one, one.policies[0], short(one, 60)) for one in (plain, fed))
    assert mixed.absorbance_per_m[-1] < 0.9 * rain_only.absorbance_per_m[-1]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('mains_flow = "0 gpm"', "cistern.mains_flow"),
        ('mains_flow = "3 gpm"\nmains_below = 0.3', "wanted more than mains_below"),
        ('mains_flow = "3 gpm"\nmains_below = 0.03\ntop_up_below = 0.0', "runs dry before the valve opens"),
        ('mains_flow = "3 gpm"\nmains_below = 0.05\nmains_until = 0.06\ntop_up_below = 0.0', "pump.restart"),
        ('mains_flow = "3 gpm"\ntop_up_below = 0.15', "or 0 for no tanker"),
        ('mains_floww = "3 gpm"', "mains_flow"),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_line(lines, said):
    with pytest.raises(InputError) as refused:
        with_mains(lines)
    assert said in str(refused.value) and "\n" not in str(refused.value)


def test_the_criteria_hold_its_level_and_count_what_it_brings():
    found = {one.key: one for one in judged(with_mains())}
    assert found["levels"].state == PASS and "EN 1717" in found["levels"].note
    assert found["levels"].value == pytest.approx(0.12 * with_mains().cistern.capacity_m3)
    tight = with_mains('mains_flow = "3 gpm"\nmains_below = 0.039\ntop_up_below = 0.0')
    assert {one.key: one for one in judged(tight)}["levels"].state == FAIL  # no half day above the intake
    dry = f'{DEMO}[roof]\narea = "20 m2"\n[cistern]\ntop_up_below = 0.0\n'
    states = [
        next(one.state for one in judged(load_text(dry + flow, "dry.toml")) if one.key == "reliability")
        for flow in ("", 'mains_flow = "3 gpm"', 'mains_flow = "0.01 gpm"')
    ]
    assert states == [FAIL, PASS, FAIL]


def test_the_sheet_the_search_and_the_price_know_it():
    base, fed, plain = load_text('extends = "base"', "base"), with_mains(), with_mains("")
    assert ("mains, air gap", "3.00 gpm") in tags(fed, "us")[1][1]
    more = {key for key, _, _ in inputs(fed, base, "us")} - {key for key, _, _ in inputs(plain, base, "us")}
    assert more == {"cistern.mains_flow", "cistern.mains_below", "cistern.mains_until"}
    parts = [{one.part for one in equipment(house, plain)} for house in (fed, plain)]
    assert parts[0] - parts[1] == {"mains air gap"}
    found = choices(plain, [parse_try("cistern.mains_flow=without,3 gpm")], ["by the calendar"])
    assert [one.design.scenario.cistern.mains_m3_s for one in found] == [
        None,
        pytest.approx(3 * GPM, rel=1e-5),
    ]
