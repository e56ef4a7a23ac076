"""Days on which nobody acts, passed at once: the same bytes as look by look, and few steps and wake-ups."""

import csv
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest
import simpy

from sim.constants import DAY_S
from sim.outcome.measures import row
from sim.scenario.read.load import DEMO, load
from sim.twin.common import common_inputs
from sim.twin.processes import Care
from sim.twin.run import run
from sim.twin.water import ageing
from sim.twin.water.house import LAMP, PARTS, PUMP
from sim.twin.water.onward import FINE_S, LOOKS, NEAR_ALARM, onward
from sim.twin.water.unpack import house_record
from sim.twin.world import World

COUNTS = Path(__file__).parents[1] / "bench" / "counts.csv"
MORE, LESS = 1.1, 0.8  # of what is kept: above it is slow, below it what is kept says nothing any more


def plain_days(care):
    """Let all days pass as one would write it down: every midnight and every look is an event of its own."""
    for day in range(care.world.common.n_days):
        care.world.bring(refresh=False)
        care.world.midnight(day)
        care.mind()
        yield from plain_looks(care, DAY_S, NEAR_ALARM)


def plain_looks(care, span_s, near):
    """Let time pass, with looks in between where the reading is within what it may lose in that time."""
    world = care.world
    if span_s <= FINE_S or not 0.0 <= world.w["reading"] - world.c["alarm"] < near:
        yield care.env.timeout(span_s)
        return
    for part in range(LOOKS):
        if part:
            world.bring()
        yield from plain_looks(care, span_s / LOOKS, near / LOOKS)


def same(one, other):
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and one.tobytes() == other.tobytes()
    return repr(one) == repr(other)


@pytest.mark.parametrize("site", ["family_house", "cottage", "training_hall"])
def test_days_passed_at_once_are_those_of_every_look(site, monkeypatch):
    scenario = load(site)
    common = common_inputs(scenario, 3, 5, 2)
    at_once = [run(scenario, policy, common) for policy in scenario.policies]
    monkeypatch.setattr(Care, "days", plain_days)
    for policy, one in zip(scenario.policies, at_once, strict=True):
        other = run(scenario, policy, common)
        apart = [f.name for f in fields(one) if not same(getattr(one, f.name), getattr(other, f.name))]
        assert apart == []
        assert same(row(one), row(other))


def test_a_day_ages_parts_as_its_source_says():
    """The source run uncompiled, on parts at and short of their end."""
    house, days = house_record(load(DEMO), 1.0, 1.0), np.full((9, 15), 40.0)
    house["ageing"]["drift_pa"], house["ageing"]["cavitates_m3"] = 12.0, 50.0
    house["parts"]["used_s"] = house["parts"]["life_s"] = 5e6
    house["parts"]["life_s"][0, PUMP] = 1e12
    plain = house.copy().view(np.recarray)
    found = ageing.age(7 * DAY_S, house[0], days)
    assert found == ageing.age.py_func(7 * DAY_S, plain[0], days) == 0b1111 - (1 << PUMP)
    for record in ("plant", "ageing"):
        np.testing.assert_allclose(house[record].tolist(), plain[record].tolist(), rtol=1e-14)
    assert house["parts"].tobytes() == plain["parts"].tobytes()
    assert PARTS[LAMP] == "lamp"


def counted(monkeypatch, scenario, policy):
    """Steps of the loop, wake-ups of processes and calls into compiled code in a year of a policy."""
    found = {"steps": 0, "wake_ups": 0, "calls": 0}
    common = common_inputs(scenario, 0, 1, 1)
    found["steps"] = len(run(scenario, policy, common, trace=True).trace)

    def counting(name, function):
        def counted_call(*args, **kwargs):
            found[name] += 1
            return function(*args, **kwargs)

        return counted_call

    with monkeypatch.context() as patch:
        patch.setattr(simpy.Environment, "step", counting("wake_ups", simpy.Environment.step))
        patch.setattr(World, "_go", counting("calls", World._go))
        run(scenario, policy, common)
    return found


def test_a_year_takes_no_more_steps_and_wake_ups_than_is_kept(monkeypatch):
    """Counts, not times: what takes a tenth more of either makes every study slower."""
    scenario = load(DEMO)
    with COUNTS.open(newline="") as file:
        kept = {
            line.pop("policy"): {name: int(value) for name, value in line.items()}
            for line in csv.DictReader(file)
        }
    found = {policy.name: counted(monkeypatch, scenario, policy) for policy in scenario.policies}
    assert found.keys() == kept.keys()
    apart = {
        (name, what): (found[name][what], number)
        for name, line in kept.items()
        for what, number in line.items()
        if not LESS * number <= found[name][what] <= MORE * number
    }
    assert apart == {}, f"found against kept in {COUNTS.name}; keep what was found if it is meant"


def test_it_is_compiled_for_one_kind_of_numbers():
    """Times of the clock may be whole numbers; each further kind would compile the whole loop once more."""
    scenario = load("training_hall")
    run(scenario, scenario.policies[0], common_inputs(scenario, 0, 1, 1))
    assert {str(kind) for signature in onward.signatures for kind in signature[:2]} == {"float64"}
