"""Tanker, shelf and technician, each alone with a clock: what comes when, and for how much."""

from types import SimpleNamespace

import numpy as np
import pytest
import simpy

from sim.scenario.care import Prices
from sim.twin.people.noticing import Noticing
from sim.twin.people.stores import Stores
from sim.twin.people.technician import Technician

DAY, HOUR = 86400.0, 3600.0
PRICES = Prices(currency="USD", electricity_kwh=0.0, tanker_m3=10.0, tanker_load=100.0)


def world(level_m3=2.0, spares=(), **people):
    store = SimpleNamespace(
        capacity_m3=10.0, top_up_below=0.5, top_up_m3=6.0, top_up_lead_s=3 * DAY, floor_m2=4.0
    )
    who = {
        "technicians": 1,
        "technician_lead_s": 2 * DAY,
        "technician_fee": 90.0,
        "technician_job_s": 2 * HOUR,
    }
    return SimpleNamespace(
        env=simpy.Environment(), s={"cistern_m3": level_m3}, tanked_m3=0.0,
        costs=SimpleNamespace(water=0.0, tanker_loads=0, visits=0, callouts=0.0),
        scenario=SimpleNamespace(
            cistern=store, prices=PRICES, spares=spares,
            people=SimpleNamespace(**who | people), gauge=SimpleNamespace(reading_sd_pa=1e3),
        ),
        policy=SimpleNamespace(bundle_s=7 * DAY, skipped=lambda *of: False), bring=lambda: None,
        refresh=lambda: None, noted=[], note=lambda *of, **more: None,
        common=SimpleNamespace(other_jobs_s=[], n_days=100),
    )  # fmt: skip


# --- tanker ---
def test_a_tanker_comes_once_after_its_lead_and_costs_its_trip_and_its_water():
    house = world(level_m3=2.0)
    stores = Stores(house)
    stores.order_water()
    stores.order_water()  # one is on its way
    house.env.run(until=3 * DAY - 1.0)
    assert house.s["cistern_m3"] == 2.0
    house.env.run(until=4 * DAY)
    assert house.s["cistern_m3"] == 8.0 and house.tanked_m3 == 6.0
    assert house.costs.water == 100.0 + 60.0 and house.costs.tanker_loads == 1
    stores.order_water()  # no longer low
    house.env.run(until=9 * DAY)
    assert house.costs.tanker_loads == 1


def test_a_tanker_brings_what_the_cistern_still_takes():
    house = world(level_m3=4.9)
    Stores(house).order_water()
    house.s["cistern_m3"] = 8.5  # it rained meanwhile
    house.env.run()
    assert house.s["cistern_m3"] == 10.0 and house.tanked_m3 == 1.5 and house.costs.water == 115.0


@pytest.mark.parametrize(("level_m3", "ordered"), [(4.99, True), (5.0, False)])
def test_water_is_ordered_below_the_level_for_it(level_m3, ordered):
    house = world(level_m3=level_m3)
    stores = Stores(house)
    stores.order_water()
    assert stores.tanker_due == ordered


# --- shelf ---
def test_a_part_is_taken_from_the_shelf_and_the_next_one_waited_for():
    house = world(spares=(SimpleNamespace(part="lamp", on_shelf=1, lead_s=5 * DAY),))
    stores, had = Stores(house), []

    def needs(part):
        yield from stores.part_for(SimpleNamespace(part=part))
        had.append((part, house.env.now / DAY))

    for part in ("lamp", "lamp", None, "cloth"):
        house.env.process(needs(part))
    house.env.run()
    assert sorted(had, key=str) == sorted(
        [("lamp", 0.0), (None, 0.0), ("cloth", 0.0), ("lamp", 5.0)], key=str
    )
    assert stores.shelf["lamp"] == 1  # what was taken is there again


# --- technician ---
def called(house, duties=(), nobody=lambda duty: False, waits=lambda duty: False):
    """Return a technician and the list of what he did, with the day and hour."""
    did = []

    def perform(duty, who):
        did.append((duty.name, house.env.now // DAY, house.env.now % DAY / HOUR))
        yield house.env.timeout(HOUR)

    return Technician(house, duties, perform, nobody, waits), did


def duty(name, by="technician", when="calendar", due_days=0.0):
    rule = SimpleNamespace(by=by, when=when, every_s=due_days * DAY)
    return SimpleNamespace(name=name, rule=rule, done_s=0.0, pending=False)


def test_one_visit_does_all_that_waits_and_what_falls_due_within_a_week():
    house = world()
    soon, later = duty("soon", due_days=8.0), duty("later", due_days=11.0)
    mine, signal = duty("mine", by="owner", due_days=3.0), duty("signal", when="reading", due_days=3.0)
    technician, did = called(house, (soon, later, mine, signal))
    for name in ("pump", "tank"):
        technician.order(SimpleNamespace(name=name))
    house.env.run(until=20 * DAY)
    # Asked for at midnight of day 0; two days later at nine, an hour each.
    assert did == [("pump", 2.0, 9.0), ("tank", 2.0, 10.0), ("soon", 2.0, 11.0)]
    assert soon.pending and not later.pending
    assert (house.costs.visits, house.costs.callouts) == (1, 90.0)
    technician.order(SimpleNamespace(name="again"))
    house.env.run(until=30 * DAY)
    assert ("again", 22.0, 9.0) in did and house.costs.visits == 2


def test_what_nobody_does_or_waits_already_is_not_taken_along():
    for left in ("nobody", "waits"):
        house = world()
        technician, did = called(house, (duty("soon", due_days=3.0),), **{left: lambda duty: True})
        technician.call()
        house.env.run(until=5 * DAY)
        assert did == []


@pytest.mark.parametrize(("technicians", "day"), [(1, 3.0), (2, 3.0), (3, 2.0)])
def test_jobs_for_others_come_first_while_all_are_busy(technicians, day):
    """One or two call on day one at nine, for 28 hours: until 13 of day two, so this house waits a day."""
    house = world(technicians=technicians, technician_job_s=DAY + 4 * HOUR)
    house.common.other_jobs_s = np.array([DAY + 9 * HOUR] * min(technicians, 2) + [500 * DAY])
    technician, did = called(house)
    technician.serve_others()
    technician.order(SimpleNamespace(name="pump"))
    house.env.run(until=60 * DAY)
    assert did == [("pump", day, 9.0)]


# --- what readings show of what people missed ---
def read(seen_by, drops, light=0.9, **slip):
    """Return how a slip that stands comes to notice on a round of readings; None when it does not."""
    house, seen = world(), []
    house.clean_pa = lambda i: (1e3, 10e3)[i]
    values = {"seen_by": seen_by, "after_wipe": False, "reading_left": 1.0, "effect": "bypass open"} | slip
    fault = SimpleNamespace(slip=SimpleNamespace(**values), lapse=SimpleNamespace(start_s=5 * DAY))
    house.faults = SimpleNamespace(standing=[fault])
    noticing = Noticing(house, None, None)
    noticing.find = lambda one, route: seen.append(route)
    noticing.wiped_s = 4 * DAY
    noticing.read(drops, light)
    return seen[0] if seen else None


@pytest.mark.parametrize(("read_pa", "found"), [(7.9e3, "taps"), (8.1e3, None), (12e3, None)])
def test_a_drop_that_is_short_by_two_errors_of_the_gauge_is_seen(read_pa, found):
    assert read(("taps",), [5e3, read_pa]) == found
    assert read(("sample",), [5e3, read_pa]) is None  # of a slip that takes no drop away


@pytest.mark.parametrize(("light", "found"), [(0.54, "display"), (0.56, None)])
def test_a_low_reading_shows_a_slip_that_leaves_about_so_much(light, found):
    whole = [5e3, 12e3]
    assert read(("display",), whole, light, reading_left=0.5) == found
    assert read(("display",), whole, light, reading_left=0.5, after_wipe=True) is None  # nobody wiped since
    assert read(("display",), whole, light) is None  # it takes no light
    assert read(("display",), whole, light, effect="unit dark") == "display"
