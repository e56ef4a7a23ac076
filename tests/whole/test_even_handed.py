"""Every policy meets the same people: calendars, putting off and being at home know one rule."""

import dataclasses
import itertools
from collections import defaultdict

import numpy as np
import pytest

from sim.errors import InputError
from sim.scenario.read.load import built_in, load, load_text
from sim.twin.run import common_inputs, run

DAY_S = 86400.0
NEVER_S = 1e12
SURE = {"adherence": 1.0, "delay": "0 d", "repair_delay": "0 d"}
NO_CUTS = {"saifi": 0.0}
RENEWED_BY_CALENDAR = ("wipe sleeve", "wipe sensor window", "replace lamp")


def done(history, name):
    return [event.time_s for event in history.events if event.kind == "task" and event.subject == name]


def lamp_dies_after(scenario, common, life_s):
    """Give the first lamp a life; the next ones never die."""
    unit = scenario.uv
    lamps = np.full_like(common.lives["lamp"], NEVER_S)
    lamps[0] = (life_s / unit.lamp_life_s) ** unit.lamp_life_shape
    return {**common.lives, "lamp": lamps}


@pytest.fixture(scope="module")
def histories():
    """Runs of two years in which lamps and films call for work often."""
    found = []
    for site in ("family_house", "cottage"):
        scenario = load(site)
        for replication in range(3):
            common = common_inputs(scenario, replication, 5, 2)
            found += [(scenario, way, common, run(scenario, way, common)) for way in scenario.policies]
    return found


def test_a_renewal_for_any_reason_restarts_the_calendar_of_that_part(histories):
    looked = 0
    for _, way, _, history in histories:
        every_s = {
            rule.task: rule.every_s
            for rule in way.rules
            if rule.when == "calendar" and rule.task in RENEWED_BY_CALENDAR and rule.by == "owner"
        }
        asked_by_alarm = defaultdict(list)
        for event in history.events:
            if event.kind == "alarm":
                asked_by_alarm["alarm"].append(event.time_s)
        for task, span_s in every_s.items():
            times = done(history, task)
            for one, other in itertools.pairwise(times):
                if (
                    other - one < 0.98 * span_s
                ):  # sooner than its interval: then the alarm or a dark lamp asked
                    looked += 1
                    assert any(one - DAY_S <= at <= other for at in asked_by_alarm["alarm"]), (way.name, task)
    assert looked > 0


def test_a_lamp_that_failed_moves_the_lamp_of_the_calendar(tiny, short, policy):
    scenario = tiny(people=SURE, power=NO_CUTS)
    common = short(scenario, 300)
    common = dataclasses.replace(common, lives=lamp_dies_after(scenario, common, 60 * DAY_S))
    way = policy(
        {"task": "replace lamp", "when": "calendar", "every": "100 d"},
        {"task": "replace lamp", "when": "failure"},
    )
    times_s = np.array(done(run(scenario, way, common), "replace lamp"))
    assert times_s[0] / DAY_S == pytest.approx(61.0, abs=1.0)  # as it failed
    assert np.diff(times_s) / DAY_S == pytest.approx([100.0, 100.0], abs=1.0)  # and not at 100, 200


@pytest.mark.parametrize(("when", "mean"), [("calendar", "4 d"), ("failure", "2 d")])
def test_what_is_put_off_comes_back_after_three_of_its_mean_waits(tiny, short, policy, when, mean):
    key = "delay" if when == "calendar" else "repair_delay"
    scenario = tiny(
        people={"adherence": 0.5, "delay": "0 d", "repair_delay": "0 d", key: mean}, power=NO_CUTS
    )
    names = [one.name for one in scenario.tasks]
    common = short(scenario, 120)
    adherence = common.adherence.copy()
    adherence[names.index("replace lamp")] = 0.1
    adherence[names.index("replace lamp"), :2] = 0.9  # put off twice, then always done
    life_s = 30 * DAY_S if when == "failure" else NEVER_S
    common = dataclasses.replace(
        common,
        adherence=adherence,
        delay=np.zeros_like(common.delay),
        lives=lamp_dies_after(scenario, common, life_s),
    )
    rule = {"task": "replace lamp", "when": when} | ({"every": "30 d"} if when == "calendar" else {})
    history = run(scenario, policy(rule), common)
    put_off = [e.time_s / DAY_S for e in history.events if e.kind == "order" and "put off" in e.note]
    waits = 3 * float(mean.split()[0])
    assert len(put_off) == 2
    assert put_off[1] - put_off[0] == pytest.approx(waits, abs=1.0)
    assert done(history, "replace lamp")[0] / DAY_S - put_off[1] == pytest.approx(waits, abs=1.5)


@pytest.mark.parametrize("valve", [True, False])
def test_nobody_puts_off_what_brings_the_water_back(tiny, short, policy, valve):
    """A lamp dies on day 30; whoever would put it off does so only while water comes without its dose."""
    scenario = tiny(
        people={"adherence": 0.5, "delay": "0 d", "repair_delay": "2 d"},
        power=NO_CUTS,
        uv={"shutoff_valve": valve},
    )
    names = [one.name for one in scenario.tasks]
    common = short(scenario, 120)
    adherence = common.adherence.copy()
    adherence[names.index("replace lamp")] = 0.9  # always put off
    common = dataclasses.replace(
        common,
        adherence=adherence,
        delay=np.ones_like(common.delay),
        lives=lamp_dies_after(scenario, common, 30 * DAY_S),
    )
    history = run(scenario, policy({"task": "replace lamp", "when": "failure"}), common)
    times = np.array(done(history, "replace lamp")) / DAY_S
    assert times[:1] == pytest.approx([33.0] if valve else [], abs=1.5)  # minded at midnight, two days on


def test_a_task_that_waits_is_hurried_once_it_would_bring_the_water_back(tiny, short, policy):
    """The calendar asks on day 25 and the owner would come on day 65; the lamp dies on day 30."""
    scenario = tiny(
        people={"adherence": 1.0, "delay": "40 d", "repair_delay": "1 d"},
        power=NO_CUTS,
        uv={"shutoff_valve": True},
    )
    common = short(scenario, 120)
    common = dataclasses.replace(
        common,
        delay=np.ones_like(common.delay),
        lives=lamp_dies_after(scenario, common, 30 * DAY_S),
    )
    way = policy(
        {"task": "replace lamp", "when": "calendar", "every": "25 d"},
        {"task": "replace lamp", "when": "failure"},
    )
    times = np.array(done(run(scenario, way, common), "replace lamp")) / DAY_S
    assert times[0] == pytest.approx(32.0, abs=1.5)
    assert times[1] > 32.0 + 25.0  # and not again on day 65: counted from when it was renewed


def test_the_owner_works_on_a_day_on_which_water_is_drawn(histories):
    seen = 0
    for _, _, common, history in histories:
        days_with_draws = set((common.draws.start_s // DAY_S).astype(int))
        for event in history.events:
            if event.kind == "task" and event.note == "by owner":
                seen += 1
                assert int(event.time_s // DAY_S) in days_with_draws
    assert seen > 100


def test_shared_rules_are_the_same_in_every_policy_that_shares_them():
    for site in built_in():
        policies = {way.name: set(way.rules) for way in load(site).policies}
        mend = policies["as things fail"]
        keep = (
            set.intersection(*(policies[name] for name in policies if name.startswith(("by ", "one "))))
            - mend
        )
        assert {rule.when for rule in mend} == {"failure"}
        assert {rule.task for rule in keep} == {
            "replace lamp", "clear gutters and diverter", "clean cistern", "take sample",
        }  # fmt: skip
        for name in ("by the calendar", "by the readings", "one technician visit a year"):
            assert mend | keep <= policies[name]
            # What is its own is how filters, wipes and precharge fall due, and nothing else.
            assert {rule.task for rule in policies[name] - mend - keep} == {
                "change cartridge", "wipe sleeve", "wipe sensor window", "restore precharge",
            }  # fmt: skip


@pytest.mark.parametrize(
    ("include", "said"),
    [
        ('["mind"]', "policy[p].include: no [[rules]] 'mind'; did you mean 'mend'?"),
        ('"mend"', "policy[p].include: read 'mend'; wanted a list of names of [[rules]]"),
    ],
)
def test_what_cannot_be_included_is_refused_in_one_line(include, said):
    with pytest.raises(InputError) as caught:
        load_text(f'extends = "base"\nname = "x"\n[[policy]]\nname = "p"\ninclude = {include}\n', "mine.toml")
    assert said in str(caught.value)
