"""Who or what is to blame while things stand as they stand, and how parts fail: from made-up houses."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.plant import cause
from sim.twin import lamps, wear
from sim.twin.blame import blame
from sim.twin.records import Lapse
from sim.twin.water.house import CLASSES, TO_HOUSE

TASKS = {
    "change cartridge": ("new cartridge",), "replace lamp": ("new lamp",), "wipe sleeve": ("wiped sleeve",),
    "wipe sensor window": ("wiped sensor window",), "repair pump": ("new pump",),
}  # fmt: skip
ALL_WELL = {
    "why_dark": cause.SERVICE, "why_shut": cause.SERVICE, "why_pump": cause.OTHER,
    "why_clogged": cause.CLOGGED,
    "why_water": cause.WATER, "why_lamp": cause.LAMP_AGE, "why_film": cause.FILM, "why_dim": cause.FILM,
}  # fmt: skip


def house(waiting=(), standing=(), working=None, units=1, broken=(), standby_broken=0):
    """A house in which some tasks wait (task, kind), some slips stand, and somebody may be at work."""
    parts = {
        name: {"broken": int(name in broken), "used_s": 0.0, "life_s": 9.0}
        for name in ("lamp", lamps.SECOND, "pump")
    }
    return SimpleNamespace(
        waiting={at: Lapse(kind, task, (), 0.0, task=task) for at, (task, kind) in enumerate(waiting)},
        scenario=SimpleNamespace(
            tasks=[SimpleNamespace(name=name, effects=effects) for name, effects in TASKS.items()],
            uv=SimpleNamespace(units=units, start_wear_s=3.0, lamp_life_s=100.0, lamp_life_shape=2.0),
            stages=[SimpleNamespace(name="sediment"), SimpleNamespace(name="carbon")],
        ),
        faults=SimpleNamespace(has=lambda effect: effect in standing),
        working=None if working is None else SimpleNamespace(**working), parts=parts,
        clock={"standby_broken": standby_broken}, s={"lamp_starts": 0.0},
    )  # fmt: skip


AT_WORK = {"shuts_water": True, "unplugs_uv": True}
UNPLUGGING = {"shuts_water": False, "unplugs_uv": True}


@pytest.mark.parametrize(
    ("made", "other"),
    [
        ({}, {}),
        ({"waiting": [("change cartridge", "late")]}, {"why_clogged": cause.PUT_OFF}),
        ({"waiting": [("wipe sleeve", "late")]}, {"why_film": cause.PUT_OFF, "why_dim": cause.PUT_OFF}),
        ({"waiting": [("wipe sensor window", "late")]}, {"why_dim": cause.PUT_OFF}),
        ({"waiting": [("replace lamp", "late")]}, {"why_lamp": cause.PUT_OFF}),
        # a part that broke waits an ordinary while: only what was put off is of people
        ({"broken": ["pump"]}, {"why_pump": cause.PUMP_BROKEN}),
        ({"broken": ["pump"], "waiting": [("repair pump", "late")]}, {"why_pump": cause.PUMP_BROKEN}),
        ({"broken": ["pump"], "waiting": [("repair pump", "put off")]}, {"why_pump": cause.PUT_OFF}),
        ({"standby_broken": 1}, {"why_pump": cause.PUMP_BROKEN}),
        ({"standing": ["pump off"]}, {"why_pump": cause.OTHER_SLIP}),
        ({"broken": ["pump"], "standing": ["pump off"]}, {"why_pump": cause.PUMP_BROKEN}),
        ({"broken": ["lamp"]}, {"why_dark": cause.LAMP_DIED}),
        ({"broken": ["lamp"], "waiting": [("replace lamp", "late")]},
         {"why_dark": cause.LAMP_DIED, "why_lamp": cause.PUT_OFF}),
        ({"broken": ["lamp"], "waiting": [("replace lamp", "put off")]},
         {"why_dark": cause.PUT_OFF, "why_lamp": cause.PUT_OFF}),
        # of two lamps one burns on: what it cannot do alone is of the one that died
        ({"units": 2, "broken": ["lamp"]}, {"why_lamp": cause.LAMP_DIED}),
        ({"units": 2, "broken": ["lamp"], "waiting": [("replace lamp", "late")]},
         {"why_lamp": cause.LAMP_DIED}),
        ({"units": 2, "broken": ["lamp"], "waiting": [("replace lamp", "put off")]},
         {"why_lamp": cause.PUT_OFF}),
        ({"units": 2, "broken": ["lamp", lamps.SECOND]}, {"why_dark": cause.LAMP_DIED}),
        ({"standing": ["unit dark"]}, {"why_dark": cause.UNPLUGGED}),
        ({"standing": ["unit dark"], "working": AT_WORK}, {}),
        ({"standing": ["unit dark"], "working": {"shuts_water": True, "unplugs_uv": False}},
         {"why_dark": cause.UNPLUGGED}),
        ({"standing": ["unit dark"], "broken": ["lamp"]}, {"why_dark": cause.LAMP_DIED}),
        ({"standing": ["water shut"]}, {"why_shut": cause.VALVE_SHUT}),
        ({"standing": ["water shut"], "working": AT_WORK}, {}),
        ({"standing": ["water shut"], "working": {"shuts_water": False, "unplugs_uv": True}},
         {"why_shut": cause.VALVE_SHUT}),
        ({"standing": ["cartridges swapped"]},
         {"why_clogged": cause.OTHER_SLIP, "why_water": cause.OTHER_SLIP}),
        ({"standing": ["cartridges swapped"], "waiting": [("change cartridge", "late")]},
         {"why_clogged": cause.OTHER_SLIP, "why_water": cause.OTHER_SLIP}),
        ({"standing": ["cartridge missing"]}, {"why_water": cause.OTHER_SLIP}),
    ],
)  # fmt: skip
def test_what_stands_says_who_is_to_blame(made, other):
    assert blame(house(**made)) == ALL_WELL | other


@pytest.mark.parametrize(
    ("units", "broken", "dark", "one_dark", "work"),
    [(1, [], 0, False, 1), (1, ["lamp"], 1, False, 0), (2, [], 0, False, 1), (2, ["lamp"], 1, True, 1),
     (2, [lamps.SECOND], 1, True, 1), (2, ["lamp", lamps.SECOND], 2, False, 0)],
)  # fmt: skip
def test_a_train_has_light_while_a_lamp_is_good(units, broken, dark, one_dark, work):
    world = house(units=units, broken=broken)
    assert (lamps.dark(world), lamps.one_dark(world), lamps.work(world)) == (dark, one_dark, work)


@pytest.mark.parametrize(
    ("units", "used_s", "starts", "lives_s", "expected"),
    [
        (1, 50.0, 0, (80.0, 1.0), -0.25),  # (50/100)^2, and it burns
        (1, 44.0, 2, (80.0, 1.0), -0.25),  # each start wears as 3 s
        (1, 80.0, 0, (80.0, 1.0), 1.0 - 0.64),
        (1, 500.0, 0, (80.0, 1.0), 1.0 - 0.64),  # counted up to its end
        (2, 50.0, 0, (80.0, 40.0), -0.25 + 1.0 - 0.16),
    ],
)
def test_lamps_that_failed_less_what_their_use_would_fail(units, used_s, starts, lives_s, expected):
    """By the cumulative hazard of the Weibull law, (t/100)^2 here."""
    world = house(units=units)
    world.s["lamp_starts"] = starts
    for name, life_s in zip(lamps.NAMES, lives_s, strict=True):
        world.parts[name] = {"used_s": used_s, "life_s": life_s, "broken": 0}
    assert lamps.over_chance(world) == pytest.approx(expected)


def wearing(**made):
    """A house whose parts can fail: what it writes down is kept."""
    world = house(**made)
    world.noted = []
    world.note = lambda kind, subject, note="": world.noted.append((kind, subject, note))
    world.p, world.standby = {"lamp_works": 1, "pump_works": 1}, SimpleNamespace(take_over=lambda: False)
    world.scenario.tank = SimpleNamespace(waterlogged_share=0.1, volume_m3=0.3)
    world.parts["bladder"] = {"broken": 0}
    world.s["water_m3"] = 0.2
    return world


def test_a_part_that_fails_stops_what_it_does():
    world = wearing()
    wear.fail(world, "pump")
    assert world.p == {"lamp_works": 1, "pump_works": 0} and world.parts["pump"]["broken"] == 1
    wear.fail(world, "lamp")
    assert world.p == {"lamp_works": 0, "pump_works": 0}
    assert world.noted == [("failure", "pump", "end of life"), ("failure", "lamp", "end of life")]
    two = wearing(units=2)
    wear.fail(two, "lamp")
    assert two.p["lamp_works"] == 1
    wear.fail(two, lamps.SECOND)
    assert two.p["lamp_works"] == 0


def test_a_second_pump_takes_over_and_nothing_is_broken():
    world = wearing()
    world.standby.take_over = lambda: True
    wear.fail(world, "pump")
    assert world.p["pump_works"] == 1 and world.parts["pump"]["broken"] == 0 and len(world.noted) == 1
    wear.fail(world, "lamp")
    assert world.p["lamp_works"] == 0  # a pump that stands by saves no lamp


def test_a_torn_bladder_leaves_a_tenth_of_the_tank_and_of_its_water_to_move():
    world = wearing()
    wear.fail(world, "bladder")
    assert world.p["tank_m3"] == pytest.approx(0.03) and world.s["water_m3"] == pytest.approx(0.02)
    assert world.stuck_m3 == pytest.approx(0.18) and world.p["pump_works"] == world.p["lamp_works"] == 1


def test_a_torn_cartridge_lets_go_of_a_share_into_the_house():
    world = wearing()
    world.stages = [{"torn": 0, "released": 0.5}, {"torn": 0, "released": 0.25}]
    world.loads = np.array([[8.0] * CLASSES, [4.0] * CLASSES])
    world.ledger = np.zeros((CLASSES + 1, TO_HOUSE + 3))
    wear.tear(world, 1)
    assert [one["torn"] for one in world.stages] == [0, 1]
    assert world.loads[0].tolist() == [8.0] * CLASSES and world.loads[1].tolist() == [3.0] * CLASSES
    assert world.ledger[:CLASSES, TO_HOUSE].tolist() == [1.0] * CLASSES and world.ledger.sum() == CLASSES
    assert world.noted == [("failure", "carbon", "cartridge tore")]
