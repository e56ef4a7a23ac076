"""Chance and people: what moves and what does not, how often, samples, whose days below the target."""

import dataclasses
import math

import numpy as np
import pytest
import simpy

from sim.outcome.causes import cause_of_days
from sim.outcome.measures import below_target_days, row
from sim.plant import cause, state
from sim.scenario.procedure import expanded
from sim.scenario.read.load import load
from sim.twin.processes import Care
from sim.twin.run import common_inputs, run
from sim.twin.world import World
from sim.upkeep.sampling import positive_probability, surviving_share

DAY_S = 86400.0
ZERO = {"untrained": 0.0, "trained": 0.0, "licensed": 0.0}
SURE = {"adherence": 1.0, "delay": "0 d", "repair_delay": "0 d"}


def with_slips(scenario, **fields):
    slips = scenario.people.slips.model_copy(update=fields)
    return scenario.model_copy(update={"people": scenario.people.model_copy(update={"slips": slips})})


@pytest.mark.parametrize("site", ["family_house", "cottage", "training_hall"])
def test_without_a_chance_of_slips_the_rows_are_those_of_the_engine_without_them(site):
    scenario = load(site)
    zero, off = with_slips(scenario, **ZERO), with_slips(scenario, on=False)
    for replication in range(2):
        common = common_inputs(scenario, replication, 1, 2)
        for way in scenario.policies:
            assert repr(row(run(zero, way, common))) == repr(row(run(off, way, common)))


def test_slips_leave_every_other_stream_where_it_was(tiny):
    plain, slippery = tiny(), tiny(people={"slips": {"on": True, "untrained": 0.4, "trained": 0.4}})
    one, other = common_inputs(plain, 3, 7, 1), common_inputs(slippery, 3, 7, 1)
    for field in dataclasses.fields(one):
        a, b = getattr(one, field.name), getattr(other, field.name)
        if isinstance(a, np.ndarray):
            np.testing.assert_array_equal(a, b)
        elif field.name == "draws":
            np.testing.assert_array_equal(a.start_s, b.start_s)


def test_up_to_the_first_slip_a_run_is_the_same_as_without(tiny):
    scenario = tiny(people={**SURE, "slips": {"on": True, "untrained": 0.2, "trained": 0.2}})
    way = scenario.policies[0]
    common = common_inputs(scenario, 0, 1, 1)
    slipped, plain = run(scenario, way, common), run(with_slips(scenario, on=False), way, common)
    firsts = [lapse.start_s for lapse in slipped.lapses if lapse.kind == "slip"]
    until = int(min(firsts) / DAY_S)
    assert 5 < until < 300
    np.testing.assert_array_equal(slipped.days[:until], plain.days[:until])
    assert not np.array_equal(slipped.days, plain.days)


@pytest.mark.parametrize("site", ["family_house", "cottage", "training_hall"])
def test_water_and_dirt_balance_among_many_slips(site):
    scenario = with_slips(load(site), untrained=0.3, owner="untrained", licensed=0.3)
    seen = set()
    for replication in range(4):
        common = common_inputs(scenario, replication, 2, 2)
        for way in scenario.policies:
            history = run(scenario, way, common)  # raises where a ledger is open
            seen |= {lapse.subject for lapse in history.lapses if lapse.kind == "slip"}
            assert max(balance.error for balance in history.balances) < 1e-9
    assert len(seen) >= 6


@pytest.mark.parametrize(("who", "chance"), [("owner", 0.3), ("technician", 0.1)])
def test_slips_that_stand_are_as_frequent_as_theory_says(tiny, short, policy, who, chance):
    """Two steps can leave a valve shut, each with p; running the taps finds either but for (1 + 6 p) / 7."""
    slips = {"on": True, "untrained": 0.3, "owner": "untrained", "trained": 0.1, "licensed": 0.1}
    scenario = tiny(people={"slips": slips})
    common, times = short(scenario, 2), 4000
    rng = np.random.default_rng(11)
    shape = (common.slips.shape[0], times, common.slips.shape[2])
    common = dataclasses.replace(common, slips=rng.random(shape), noticing=np.ones(shape))
    care = Care(World(simpy.Environment(), scenario, policy(), common, trace=False))
    task = next(one for one in scenario.tasks if one.name == "clean cistern")
    number = [one.name for one in scenario.tasks].index(task.name)
    found = [
        any(one.slip.name == "valve left shut" for one in care.slips._missed(task, number, -1, who, i))
        for i in range(times)
    ]
    wanted = (1.0 - (1.0 - chance) ** 2) * (1.0 + 6.0 * chance) / 7.0
    assert abs(np.mean(found) - wanted) < 4.0 * math.sqrt(wanted * (1.0 - wanted) / times)


def test_a_check_that_is_made_puts_the_slip_right_on_the_spot(tiny, short, policy):
    scenario = tiny(people={**SURE, "slips": {"on": True}})
    common = short(scenario, 40)
    names = [one.name for one in scenario.tasks]
    steps = [s.id for s in expanded(scenario.procedure("wipe sleeve"), scenario.blocks)]
    chances = np.ones_like(common.slips)
    chances[names.index("wipe sleeve"), 0, steps.index("plug the unit in")] = 0.0
    way = policy({"task": "wipe sleeve", "when": "calendar", "every": "30 d"})
    history = run(scenario, way, dataclasses.replace(common, slips=chances))
    assert history.lapses == ()
    assert [e.note for e in history.events if e.kind == "slip"] == [
        "plug the unit in: put right on the spot (wait and read)"
    ]


def test_a_task_put_off_and_a_task_late_are_lapses(tiny, short, policy):
    scenario = tiny(people={"adherence": 0.5, "delay": "4 d"}, power={"saifi": 0.0})
    names = [one.name for one in scenario.tasks]
    common = short(scenario, 120)
    adherence = common.adherence.copy()
    adherence[names.index("wipe sleeve"), :3] = [0.9, 0.1, 0.1]  # not done, done, done
    common = dataclasses.replace(common, adherence=adherence, delay=np.ones_like(common.delay))
    history = run(scenario, policy({"task": "wipe sleeve", "when": "calendar", "every": "30 d"}), common)
    found = [(lapse.kind, round(lapse.start_s / DAY_S, 2), lapse.end_s / DAY_S) for lapse in history.lapses]
    # Asked for again after three waits of four days, at day 42; four days later at ten, 54 minutes of work.
    done = 46.0 + (10 + 54 / 60) / 24
    assert found[0] == ("put off", 30.0, pytest.approx(done))
    assert found[1][0] == "late" and found[1][1] == pytest.approx(done + 30.0, abs=0.01)
    assert row(history)["tasks_put_off"] == 1.0


def test_a_power_cut_is_not_laid_to_a_task_that_waits(tiny, short, policy):
    scenario = tiny(people={"adherence": 0.5})
    common = short(scenario, 60)
    cuts = np.array([[40 * DAY_S + 3600.0, 41 * DAY_S + 3600.0]])
    common = dataclasses.replace(common, cuts_s=cuts, adherence=np.ones_like(common.adherence))
    history = run(scenario, policy({"task": "wipe sleeve", "when": "calendar", "every": "30 d"}), common)
    found = cause_of_days(history)
    below = np.flatnonzero(found != cause.NONE)
    assert below.size > 0 and set(below) <= {40, 41}
    assert set(found[below]) == {cause.POWER_CUT}


def test_a_film_while_a_wipe_is_put_off_is_laid_to_putting_off(tiny, short, policy):
    """A film that dims the unit below its alarm is the film's until the wipe falls due, then of who waits."""
    scenario = tiny(people={"adherence": 0.5}, power={"saifi": 0.0})
    common = short(scenario, 300)
    common = dataclasses.replace(common, adherence=np.ones_like(common.adherence), sleeve_factor=4.0)
    history = run(scenario, policy({"task": "wipe sleeve", "when": "calendar", "every": "150 d"}), common)
    alarm = history.causes[:, :, cause.ALARM]
    before, after = alarm[:150].sum(axis=0), alarm[151:].sum(axis=0)
    assert before[cause.FILM] > 0.0 and before[cause.PUT_OFF] == 0.0
    assert after[cause.PUT_OFF] > 0.0 and after[cause.FILM] == 0.0


# --- samples ---


def test_survivors_fall_tenfold_a_step_of_dose():
    volume = np.ones(3)
    dose = np.array([0.0, 30.0, 60.0])
    assert surviving_share(volume, dose, 30.0) == pytest.approx((1.0 + 0.1 + 0.01) / 3.0, rel=1e-12)
    assert surviving_share(np.zeros(3), dose, 30.0) == 0.0
    assert surviving_share(volume, np.full(3, np.inf), 30.0) == 0.0


def test_finds_are_as_frequent_as_organisms_spread_at_random():
    """Thinned and thrown into bottles one by one; the formula must agree within 4 standard errors."""
    rng, n, mean, alive = np.random.default_rng(5), 20000, 12.0, 0.11
    counts = rng.binomial(rng.poisson(mean, n), alive)
    wanted = positive_probability(alive, mean, 0.0)
    assert abs(np.mean(counts > 0) - wanted) < 4.0 * math.sqrt(wanted * (1 - wanted) / n)


def _sampled(tiny, short, policy, dark, chance=0.5, step="plug the unit in", **sample):
    """A sample on day 30; where it is dark a step is missed on day 20, and so is every check of it."""
    scenario = tiny(people={**SURE, "slips": {"on": True}}, sample=sample or {"acted_on": True})
    common = short(scenario, 60)
    names = [one.name for one in scenario.tasks]
    steps = expanded(scenario.procedure("wipe sleeve"), scenario.blocks)
    slip = next(one.slip for one in steps if one.id == step)
    chances = np.ones_like(common.slips)
    if dark:
        missed = [i for i, one in enumerate(steps) if one.id == step or slip in one.finds]
        chances[names.index("wipe sleeve"), 0, missed] = 0.0
    common = dataclasses.replace(
        common,
        slips=chances,
        noticing=np.full_like(common.noticing, 9.0),
        samples=np.full_like(common.samples, chance),
    )
    way = policy(
        {"task": "wipe sleeve", "when": "calendar", "every": "20 d"},
        {"task": "take sample", "when": "calendar", "every": "30 d"},
        name="s",
    )
    return run(scenario, way, common)


@pytest.mark.parametrize(
    ("step", "slip"),
    [("plug the unit in", "unit left unplugged"), ("keep the bypass shut", "bypass left open")],
)
def test_a_sample_of_undosed_water_shows_and_leads_to_the_cause(tiny, short, policy, step, slip):
    history = _sampled(tiny, short, policy, dark=True, step=step)
    lapse = next(one for one in history.lapses if one.kind == "slip")
    assert lapse.subject == slip
    assert lapse.route == "sample"
    assert lapse.noticed_s / DAY_S == pytest.approx(32.0 + (10 + 20 / 60) / 24, abs=0.01)  # laboratory: 2 d
    assert lapse.end_s < lapse.noticed_s + DAY_S
    assert row(history)["samples_with_finds"] == 1.0
    assert [e.subject for e in history.events if e.subject == "return to service"] == ["return to service"]


def test_a_sample_of_dosed_water_shows_nothing(tiny, short, policy):
    history = _sampled(tiny, short, policy, dark=False)
    assert row(history)["samples"] == 1.0
    assert row(history)["samples_with_finds"] == 0.0


def test_a_clear_sample_does_not_prove_yesterday(tiny, short, policy):
    """The unit was dark for weeks and lit again four days before the sample: nothing shows."""
    scenario = tiny(people={**SURE, "slips": {"on": True}})
    common = short(scenario, 60)
    names = [one.name for one in scenario.tasks]
    steps = [s.id for s in expanded(scenario.procedure("wipe sleeve"), scenario.blocks)]
    chances = np.ones_like(common.slips)
    chances[
        names.index("wipe sleeve"), 0, [steps.index("plug the unit in"), steps.index("wait and read")]
    ] = 0.0
    common = dataclasses.replace(
        common, slips=chances, noticing=np.full_like(common.noticing, 9.0), samples=np.full(512, 0.5)
    )
    way = policy(
        {"task": "wipe sleeve", "when": "calendar", "every": "13 d"},  # day 13, and found on day 27
        {"task": "take sample", "when": "calendar", "every": "31 d"},
    )
    history = run(scenario, way, common)
    assert row(history)["samples_with_finds"] == 0.0
    assert below_target_days(history)[14:26].sum() > 8


def test_a_find_is_only_counted_where_nobody_acts_on_it(tiny, short, policy):
    acted = _sampled(tiny, short, policy, dark=True)
    left = _sampled(tiny, short, policy, dark=True, acted_on=False)
    assert row(left)["samples_with_finds"] == 1.0
    assert all(lapse.route != "sample" for lapse in left.lapses)
    assert row(acted)["cost"] > row(left)["cost"]
    assert row(left)["people_days_below_target"] > row(acted)["people_days_below_target"]


def test_water_below_target_while_a_slip_stands_is_counted_to_people(tiny, short, policy):
    history = _sampled(tiny, short, policy, dark=True)
    lapse = next(one for one in history.lapses if one.kind == "slip")
    first, last = int(lapse.start_s / DAY_S), int(lapse.end_s / DAY_S)
    found, below = cause_of_days(history), below_target_days(history)
    assert set(found[first + 1 : last][below[first + 1 : last]]) == {cause.UNPLUGGED}
    assert row(history)["people_days_below_target"] == float((found == cause.UNPLUGGED).sum()) > 5.0
    assert history.days[first + 1 : last, state.DOSE_LEAST].min() == 0.0
