"""What people see on their rounds and what a household notices, on a house of plain values."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sim.plant import state
from sim.scenario.read.load import load
from sim.twin import lamps
from sim.twin.people.samples import Samples
from sim.twin.people.watching import Watch

DAY = 86400.0
HOUSE = load("family_house")
GAUGE = HOUSE.gauge


class World(SimpleNamespace):
    """A house that stands still, with what was noted of it."""

    def __init__(self, drops=(2e4, 1e4), light=0.8, precharge_short_pa=0.0, now_s=10.5 * DAY):
        parts = {name: {"broken": False} for name in ("pump", "bladder", *lamps.NAMES)}
        super().__init__(
            scenario=HOUSE, policy=SimpleNamespace(heeds_alarm=True, skipped=lambda *of: False),
            env=SimpleNamespace(now=now_s, timeout=lambda wait_s: wait_s), clock={"standby_broken": False},
            p={"atmosphere_pa": 101_325.0, "alarm": False, "cut_in_pa": HOUSE.switch.cut_in_pa}, parts=parts,
            w={"reading": light}, ageing={"precharge_pa": HOUSE.tank.precharge_pa - precharge_short_pa},
            stages=[0, 1], drop_pa=lambda i: drops[i], bring=lambda: None, noted=[], n_days=12,
            common=SimpleNamespace(n_days=12, reading_noise=np.zeros((12, 4))),
            days=np.zeros((12, 200)),
        )  # fmt: skip

    def note(self, kind, subject, **more):
        self.noted.append((kind, subject, more["value"]))


def duty(effects=(), when="reading", stage=-1, **rule):
    limits = {"drop_above_pa": None, "uv_below": None, "precharge_off_pa": None} | rule
    return SimpleNamespace(
        rule=SimpleNamespace(when=when, **limits), task=SimpleNamespace(effects=effects), stage=stage,
        worked_s=-math.inf,
    )  # fmt: skip


def watched(world, *duties):
    """Return a watch over a house, and the duties it asked for so far."""
    asked = []
    seen = SimpleNamespace(read=lambda drops, light: asked.append((drops, light)), weak_taps=lambda: None)
    return Watch(world, duties, seen, asked.append), asked


def one_round(world, *duties):
    watch, asked = watched(world, *duties)
    story = watch.rounds(7 * DAY)
    assert next(story) == 7 * DAY
    next(story)
    return asked


def test_a_round_reads_with_the_error_of_its_day():
    world = World()
    world.common.reading_noise[10] = (1.0, -1.0, 9.0, 2.0)  # two drops, precharge, UV
    drops, light = one_round(world)[0]
    assert drops == [2e4 + GAUGE.reading_sd_pa, 1e4 - GAUGE.reading_sd_pa]
    assert light == 0.8 + 2.0 * GAUGE.uv_reading_sd
    assert [one[:2] for one in world.noted] == [
        ("reading", "drop over sediment"), ("reading", "drop over carbon"), ("reading", "UV"),
    ]  # fmt: skip
    assert [one[2] for one in world.noted] == [*drops, light]


def test_no_reading_is_below_nothing_and_the_last_day_serves_beyond_the_end():
    world = World(drops=(0.0, 1e4), light=0.0, now_s=15.0 * DAY)
    world.common.reading_noise[11] = (-3.0, 0.0, 0.0, -3.0)
    drops, light = one_round(world)[0]
    assert drops[0] == 0.0 and light == 0.0


@pytest.mark.parametrize(
    ("rule", "falls"),
    [
        ({"stage": 0, "drop_above_pa": 1.9e4}, True),
        ({"stage": 0, "drop_above_pa": 2.1e4}, False),
        ({"stage": 1, "drop_above_pa": 1.9e4}, False),
        ({"uv_below": 0.81}, True),
        ({"uv_below": 0.79}, False),
        ({"precharge_off_pa": 1.4e4}, True),
        ({"precharge_off_pa": 1.6e4}, False),
        ({"uv_below": 0.81, "when": "calendar"}, False),
    ],
)
def test_what_was_read_calls_for_the_work_of_its_rule(rule, falls):
    one = duty(**rule)
    asked = one_round(World(precharge_short_pa=1.5e4), one)
    assert asked[1:] == ([one] if falls else [])


def test_a_round_that_is_left_out_reads_nothing():
    world = World()
    world.policy.skipped = lambda task, stage, now_s: task == "everything"
    assert one_round(world) == [] and world.noted == []


# --- what is noticed ---
WIPE, LAMP, CARTRIDGE = (duty((effect,), "failure", stage) for effect, stage in (
    ("wiped sleeve", -1), ("new lamp", -1), ("new cartridge", 0)))  # fmt: skip
PUMP, TANK = duty(("new pump",), "failure"), duty(("new pressure tank",), "failure")
ALL = (WIPE, LAMP, CARTRIDGE, PUMP, TANK)


def noticed(world, *duties):
    watch, asked = watched(world, *(duties or ALL))
    watch.notice(10)
    return asked


def test_nothing_is_done_while_nothing_shows():
    assert noticed(World()) == []


def test_an_alarm_is_wiped_for_first_and_a_dark_lamp_is_changed():
    world = World()
    world.p["alarm"] = True
    assert noticed(world) == [WIPE]
    world.parts[lamps.NAMES[0]]["broken"] = True
    assert noticed(world) == [LAMP]


@pytest.mark.parametrize(
    ("wiped_days", "lamp_days", "asked"), [(29, 181, ["lamp"]), (29, 179, []), (31, 181, ["wipe"])]
)
def test_an_alarm_soon_after_a_wipe_is_the_lamps_unless_that_is_new(wiped_days, lamp_days, asked):
    world = World(now_s=400 * DAY)
    world.p["alarm"] = True
    wipe, lamp = duty(("wiped sleeve",), "failure"), duty(("new lamp",), "failure")
    wipe.worked_s, lamp.worked_s = (400 - wiped_days) * DAY, (400 - lamp_days) * DAY
    names = {id(wipe): "wipe", id(lamp): "lamp"}
    assert [names[id(one)] for one in noticed(world, wipe, lamp)] == asked


@pytest.mark.parametrize(
    ("weak_s", "drop_share", "asked"), [(601.0, 0.26, True), (599.0, 0.26, False), (601.0, 0.24, False)]
)
def test_weak_taps_ask_for_the_cartridge_that_takes_a_quarter_of_cut_in(weak_s, drop_share, asked):
    world = World(drops=(drop_share * HOUSE.switch.cut_in_pa, 0.0))
    world.days[10, state.LOW_PRESSURE] = weak_s
    assert noticed(world) == ([CARTRIDGE] if asked else [])
    other = World(drops=(0.0, drop_share * HOUSE.switch.cut_in_pa))
    other.days[10, state.LOW_PRESSURE] = weak_s
    assert noticed(other) == []  # it is the other one that is clogged


def test_a_broken_pump_is_noticed_by_dry_taps_or_by_the_one_that_stands_in():
    world = World()
    world.parts["pump"]["broken"] = True
    assert noticed(world) == []  # nobody wanted water
    world.days[10, state.WATER_OFF] = 60.0
    assert noticed(world) == [PUMP]
    world = World()
    world.clock["standby_broken"] = True
    assert noticed(world) == [PUMP]


@pytest.mark.parametrize(
    ("starts", "share", "asked"), [(11.0, 0.29, True), (11.0, 0.31, False), (10.0, 0.29, False)]
)
def test_a_torn_bladder_is_heard_by_a_pump_that_never_rests(starts, share, asked):
    world = World()
    world.parts["bladder"]["broken"] = True
    watch, _ = watched(world)
    world.days[10, state.STARTS] = starts
    world.days[10, state.SUPPLIED] = share * watch.drawdown_m3 * starts
    assert noticed(world) == ([TANK] if asked else [])


# --- the laboratory ---
def test_a_find_is_paid_for_in_time_and_money_and_leads_to_the_return_to_service():
    paid, found = [], []
    sample = SimpleNamespace(
        looks_back_s=3600.0, log_dose_j_m2=50.0, raw_count=100.0, false_positive_share=0.0,
        result_after_s=2 * DAY, acted_on=True, price=35.0,
    )  # fmt: skip
    fault = SimpleNamespace(slip=SimpleNamespace(seen_by=("sample",)))
    hidden = SimpleNamespace(slip=SimpleNamespace(seen_by=("taps",)))
    world = World()
    world.scenario = SimpleNamespace(sample=sample, minutes=lambda name: 90.0)
    world.common = SimpleNamespace(
        samples=np.array([0.5]), draws=SimpleNamespace(start_s=np.array([0.0, 10.4 * DAY, 10.49 * DAY]))
    )
    world.draws = {"got_m3": np.array([9.0, 9.0, 0.1]), "dose_j_m2": np.array([math.inf, math.inf, 0.0])}
    world.draws = np.rec.fromarrays(list(world.draws.values()), names=list(world.draws))
    world.costs, world.faults = SimpleNamespace(samples=0, finds=0), SimpleNamespace(standing=[fault, hidden])
    noticing = SimpleNamespace(find=lambda one, route: found.append((one, route)))
    laboratory = Samples(world, noticing, lambda *of: paid.append(of)).laboratory()
    assert next(laboratory) == 2 * DAY  # it takes its time
    assert list(laboratory) == []
    assert found == [(fault, "sample")]  # and not what a sample does not show
    assert paid == [(1.5, "owner", 35.0)]
    assert (world.costs.samples, world.costs.finds) == (1, 1)
    # Of the last hour, not of all that passed.
    assert world.noted[0] == ("sample", "tap water", pytest.approx(1.0))
