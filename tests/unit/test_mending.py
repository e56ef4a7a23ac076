"""How a slip that was noticed is put right: who pays, what is shut meanwhile, what passes by itself."""

from types import SimpleNamespace

import numpy as np
import pytest
import simpy

from sim.twin.people.noticing import Noticing

MINUTE, HOUR = 60.0, 3600.0


class House(SimpleNamespace):
    """A house in which one slip stands."""

    def __init__(self, **slip):
        values = {
            "name": "slip", "effect": "valve half shut", "seen_by": {"taps": HOUR}, "minutes": 30.0,
            "price": 12.0, "lead_s": 0.0, "opens_train": False,
        }  # fmt: skip
        self.fault = SimpleNamespace(
            slip=SimpleNamespace(**values | slip), mending=False,
            lapse=SimpleNamespace(start_s=0.0, noticed_s=None, route=None),
        )  # fmt: skip
        self.done, self.paid = [], []
        faults = SimpleNamespace(
            standing=[self.fault], has=lambda effect: False, end=self._end,
            plug_in=lambda world: self.done.append("plugged in"),
            set_valves=lambda world, task: world.p.update(shut=0),
        )  # fmt: skip
        super().__init__(
            env=simpy.Environment(), faults=faults,
            p={"shut": 0, "lamp_works": 1, "valve": 0, "pump_works": 1},
            s={"water_m3": 1.0}, scenario=SimpleNamespace(uv=SimpleNamespace(warm_up_s=120.0)), notes=[],
            bring=lambda: None, refresh=lambda: None,
            common=SimpleNamespace(draws=SimpleNamespace(start_s=np.array([HOUR, 5 * HOUR, 9 * HOUR]))),
        )  # fmt: skip
        hands = simpy.Resource(self.env, capacity=1)
        self.noticing = Noticing(self, hands, lambda hours, who, price: self.paid.append((hours, who, price)))
        self.hands = hands

    def _end(self, world, fault):
        self.done.append(("ended", world.env.now))
        self.faults.standing.remove(fault)

    def note(self, kind, subject, **more):
        self.notes.append((kind, more.get("note"), more.get("value"), more.get("cost")))


def test_what_is_found_is_mended_once_and_paid_for_by_its_minutes():
    house = House(lead_s=2 * HOUR)
    house.noticing.find(house.fault, "taps")
    house.noticing.find(house.fault, "sample")  # somebody is at it
    house.env.run()
    assert (house.fault.lapse.route, house.fault.lapse.noticed_s) == ("taps", 0.0)
    assert house.done == [("ended", 2 * HOUR + 30 * MINUTE)]
    assert house.paid == [(0.5, "owner", 12.0)]
    assert house.notes == [("slip noticed", "taps", None, None), ("slip mended", "by owner", 30.0, 12.0)]
    assert house.p == {"shut": 0, "lamp_works": 1, "valve": 0, "pump_works": 1}


def test_the_train_is_shut_and_dark_while_it_is_open_and_lit_again_after():
    house = House(opens_train=True)
    house.noticing.find(house.fault, "taps")
    house.env.run(until=10 * MINUTE)
    assert (house.p["shut"], house.p["lamp_works"]) == (1, 0)
    house.env.run(until=31 * MINUTE)
    assert house.p["shut"] == 1
    house.env.run()
    assert house.p["shut"] == 0 and house.done[-1] == "plugged in"
    assert house.env.now == 30 * MINUTE + 120.0  # shut until the lamp is warm


def test_hands_that_are_busy_are_waited_for_and_find_it_gone():
    house = House()

    def other():
        with house.hands.request() as free:
            yield free
            yield house.env.timeout(HOUR)
            house.faults.standing.remove(house.fault)

    house.env.process(other())
    house.noticing.find(house.fault, "taps")
    house.env.run()
    assert house.paid == [] and house.done == []


@pytest.mark.parametrize(
    ("seen_by", "effect", "on_stage", "ended"),
    [
        ({"next visit": 0.0}, "valve half shut", False, True),
        ({"taps": 0.0}, "valve half shut", False, False),
        ({"next visit": 0.0}, "cartridges swapped", False, False),
        ({"next visit": 0.0}, "cartridges swapped", True, True),
    ],
)
def test_who_comes_to_the_train_puts_right_what_shows_there(seen_by, effect, on_stage, ended):
    house = House(seen_by=seen_by, effect=effect)
    house.noticing.visited(SimpleNamespace(on_stage=on_stage), "technician")
    assert house.paid == ([(0.5, "technician", 12.0)] if ended else [])
    assert house.fault.lapse.route == ("next visit" if ended else None)


@pytest.mark.parametrize(("wait_ratio", "seen_h"), [(0.0, 1.0), (0.5, 1.0), (1.0, 5.0), (6.0, 9.0)])
def test_a_slip_is_seen_at_the_next_draw_after_its_wait(wait_ratio, seen_h):
    house = House()
    house.env.process(house.noticing.until_seen(house.fault, "taps", wait_ratio))
    house.env.run()
    assert house.fault.lapse.noticed_s == seen_h * HOUR


def test_no_water_is_seen_a_minute_after_a_tap_gives_none():
    house = House(seen_by={"no water": 0.0})
    house.p["shut"] = 1
    house.env.process(house.noticing.until_seen(house.fault, "no water", 1.0))
    house.env.run()
    assert house.fault.lapse.noticed_s == 5 * HOUR  # the draw after the one that showed it
    wet = House(seen_by={"no water": 0.0})
    wet.env.process(wet.noticing.until_seen(wet.fault, "no water", 1.0))
    wet.env.run()
    assert wet.fault.lapse.noticed_s is None


def test_what_passes_by_itself_is_paid_by_nobody():
    house = House()
    house.env.process(house.noticing.dries(house.fault, 3 * HOUR))
    house.env.run()
    assert house.done == [("ended", 3 * HOUR)] and house.paid == []
    assert house.notes == [("slip over", "by itself", None, None)]
    busy = House()
    busy.fault.mending = True
    busy.env.process(busy.noticing.dries(busy.fault, 3 * HOUR))
    busy.env.run()
    assert busy.done == []
