"""Known chances in place of what was seen: each part against a closed form, and of mean 0 over runs."""

import itertools
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import integrate

from sim.constants import DAY_S, YEAR_DAYS
from sim.outcome.drawn import drawn
from sim.outcome.expected import CAUSE_OF_EFFECT, WAITS, excess_days
from sim.outcome.measures import row
from sim.plant import cause, draws
from sim.scenario.read.load import load, load_text
from sim.twin import lamps
from sim.twin.people.chances import left_chance, missed_too
from sim.twin.records import Chance
from sim.twin.run import common_inputs, run

INF = np.inf


def test_a_step_is_left_when_each_later_check_is_missed_as_well():
    # Moderate dependence, NUREG/CR-1278 equation 10-16 (from memory): (1 + 6 P)/7.
    p, m = 0.003, (1 + 6 * 0.003) / 7
    assert missed_too(p) == pytest.approx(m, rel=1e-15)
    assert left_chance([(2, p)], set(), p, 2) == pytest.approx(p)
    assert left_chance([(2, p)], {1, 4, 7}, p, 7) == pytest.approx(p * m * m)
    assert left_chance([(0, p), (1, 0.1)], set(), p, 1) == pytest.approx(1 - (1 - p) * 0.9)
    assert left_chance([(0, 2.0)], set(), p, 0) == 1.0


@pytest.mark.parametrize(
    ("slips", "finders"), [([(0, 0.3), (2, 0.2)], {1, 3}), ([(1, 0.1), (3, 0.3)], {3, 4}), ([(0, 0.5)], {0})]
)
def test_chance_against_every_case_counted(slips, finders):
    """Independent: a fine grid of the uniform numbers of five steps, walked as people work."""
    chance, cells = 0.3, 20
    m = missed_too(chance)  # 0.4: chances are whole cells
    grid = (np.arange(cells) + 0.5) / cells
    steps = sorted({column for column, _ in slips} | finders)
    left = 0
    for numbers in itertools.product(grid, repeat=len(steps)):
        at = dict(zip(steps, numbers, strict=True))
        left += any(at[column] < p and all(at[f] < m for f in finders if f > column) for column, p in slips)
    assert left_chance(slips, finders, chance, 4) == pytest.approx(left / cells ** len(steps), abs=1e-9)


def test_waits_are_means_of_equal_shares():
    # Mean 1; the second moment of the means falls short of the 2 of the law by their scatter within.
    assert WAITS.mean() == pytest.approx(1.0, rel=1e-12)
    assert (np.diff(WAITS) > 0).all()
    assert WAITS[-1] == pytest.approx(1.0 + np.log(len(WAITS)), rel=1e-12)  # no memory: the rest has mean 1


@pytest.mark.parametrize("lamp_count", [1, 2])
@pytest.mark.parametrize("age_days", [100.0, 400.0, 900.0])
def test_lamps_taken_out_at_an_age_fail_as_their_hazard_says(age_days, lamp_count):
    """Closed form: a Weibull lamp taken out at age a fails with chance 1 - exp(-(a/scale)^shape)."""
    scenario = load_text(f'extends = "family_house"\n[uv]\nunits = {lamp_count}', "lamps.toml")
    unit, rng = scenario.uv, np.random.default_rng(4 + lamp_count)
    lives = unit.lamp_life_s * rng.standard_exponential((20_000, lamp_count)) ** (1.0 / unit.lamp_life_shape)
    world = SimpleNamespace(scenario=scenario, s={"lamp_starts": 0}, parts={})
    over, failed = [], []
    for pair in lives:
        for name, life_s in zip(lamps.NAMES, pair, strict=False):
            world.parts[name] = {"life_s": life_s, "used_s": age_days * DAY_S}
        over.append(lamps.over_chance(world))
        failed.append(int((pair <= age_days * DAY_S).sum()))
    wanted = 1.0 - np.exp(-((age_days * DAY_S / unit.lamp_life_s) ** unit.lamp_life_shape))
    assert abs(np.mean(over)) < 3.0 * np.std(over) / len(over) ** 0.5
    expected = np.mean(np.array(failed) - np.array(over))  # the hazard used up: its mean is the chance
    assert expected / lamp_count == pytest.approx(wanted, abs=3.0 * np.std(over) / len(over) ** 0.5 + 0.01)


def days_expected(history, seen):
    return seen - sum(excess_days(history, drawn(history)).values())


@pytest.fixture
def dense(blank_history):
    """A house of 100 days in which 2 L are asked for every 10 minutes."""

    def make(hours, **fields):
        scenario = load("family_house")
        power = scenario.power.model_copy(
            update={"saifi_per_year": 2.0, "saidi_s": 2.0 * hours * 3600.0, "cut_spread": 0.0}
        )
        starts = np.arange(300.0, 100 * DAY_S, 600.0)
        none = np.full(starts.size, INF)
        asked = draws.blank(starts, np.full(starts.size, 1e-7), none, np.full(starts.size, 0.002), none)
        return blank_history(
            scenario.model_copy(update={"power": power}), 100, draws=asked, years=1, **fields
        )

    return make


@pytest.mark.parametrize("hours", [3.0, 10.0, 40.0])
def test_cuts_of_one_length_bear_on_as_many_days_as_geometry_says(dense, hours):
    """Closed form: a span of L days from a random moment touches 1 + L days; two cuts a year."""
    history = dense(hours)
    span_d = (hours * 3600.0 + history.scenario.uv.warm_up_s) / DAY_S
    wanted = 2.0 * 100 / YEAR_DAYS * (1.0 + span_d)
    assert days_expected(history, 5) - 5 == pytest.approx(wanted, rel=0.02)  # first and last ten minutes; end


def test_a_cut_that_came_is_taken_off(dense):
    history = dense(3.0, cuts_s=np.array([[50.25 * DAY_S, 50.5 * DAY_S], [60.9 * DAY_S, 61.1 * DAY_S]]))
    assert days_expected(dense(3.0), 5) - days_expected(history, 5) == pytest.approx(3.0, rel=1e-12)


def test_a_step_that_may_be_missed_counts_by_its_chance(dense):
    """Closed form: minded after a wait of mean 4 days, from a noon on, it stands on some 1 + 4 days."""
    dark = next(slip.name for slip in load("family_house").slips if slip.effect == "unit dark")
    chance = Chance(dark, 0.1, 10.5 * DAY_S, 4.0 * DAY_S, 0.0, INF, False, np.nan)
    none = days_expected(dense(3.0), 0)
    some = days_expected(dense(3.0, chances=(chance,)), 0) - none
    assert some == pytest.approx(0.1 * (1.0 + 4.0), abs=0.1 * 0.3)
    seen = Chance(dark, 0.1, 10.5 * DAY_S, 4.0 * DAY_S, 0.0, INF, False, 0.5)  # minded on day 12
    assert days_expected(dense(3.0, chances=(seen,)), 3) - none - some == pytest.approx(0.0, abs=1e-9)
    soon = Chance(dark, 0.1, 10.5 * DAY_S, 4.0 * DAY_S, 0.0, 10.8 * DAY_S, False, np.nan)
    assert days_expected(dense(3.0, chances=(soon,)), 0) - none == pytest.approx(0.1, abs=1e-9)
    visit = Chance(dark, 0.1, 10.5 * DAY_S, 4.0 * DAY_S, 0.0, INF, True, np.nan)
    visited = dense(3.0, chances=(visit,), visits_s=np.array([10.5, 10.7]) * DAY_S)
    assert days_expected(visited, 0) - none == pytest.approx(0.1, abs=1e-9)


def excess(history):
    return excess_days(history, drawn(history))


def test_cuts_count_where_they_come_and_no_valve_shuts(dense):
    """Two cuts a year of 3 h, and one: half as many; none where none come, or a valve shuts without light."""
    two = dense(3.0)
    power, unit = two.scenario.power, two.scenario.uv

    def of(**change):
        scenario = two.scenario.model_copy(update=change)
        return excess(replace(two, scenario=scenario))[cause.POWER_CUT]

    one = power.model_copy(update={"saifi_per_year": 1.0, "saidi_s": 3.0 * 3600.0})
    assert of() < 0.0  # met none
    assert of(power=one) == pytest.approx(0.5 * of(), rel=1e-12)
    assert of(power=power.model_copy(update={"saifi_per_year": 0.0})) == 0.0
    assert of(uv=unit.model_copy(update={"shutoff_valve": True})) == 0.0


@pytest.mark.parametrize(
    ("change", "days"),
    [
        ({}, 0.3 * 3.5),  # a lamp over what was to be expected counts the day it fails and 2.5 to its mend
        ({"shutoff_valve": True}, 0.0),
        ({"units": 2, "arranged": "series"}, 0.0),
        ({"units": 2, "arranged": "parallel"}, 0.3 * 3.5),
    ],
)
def test_a_lamp_counts_until_it_is_mended(dense, change, days):
    history = dense(3.0, lamps_over_count=0.3)
    people = history.scenario.people.model_copy(update={"repair_delay_s": 2.5 * DAY_S})
    unit = history.scenario.uv.model_copy(update=change)
    scenario = history.scenario.model_copy(update={"people": people, "uv": unit})
    assert excess(replace(history, scenario=scenario))[cause.LAMP_DIED] == pytest.approx(days, rel=1e-12)


def test_each_step_counts_with_its_own_cause(dense):
    by_effect = {slip.effect: slip.name for slip in load("family_house").slips}
    for effect, code in CAUSE_OF_EFFECT.items():
        chance = Chance(by_effect[effect], 0.1, 10.5 * DAY_S, 4.0 * DAY_S, 0.0, INF, False, np.nan)
        found = excess(dense(3.0, chances=(chance,)))
        steps = {one: found[one] for one in CAUSE_OF_EFFECT.values()}
        assert steps.pop(code) == pytest.approx(-0.1 * (1.0 + 4.0), abs=0.1 * 0.3)
        assert list(steps.values()) == [0.0]


def test_nothing_asked_leaves_what_was_seen(blank_history):
    assert days_expected(blank_history(load("cottage"), 10), 3) == 3.0


@pytest.mark.long
@pytest.mark.parametrize("site", ["family_house", "cottage"])
def test_it_has_the_mean_of_the_days_seen(site):
    """The difference over 50 runs of three years is within two of its standard errors for each policy."""
    scenario, found = load(site), {}
    for replication in range(50):
        common = common_inputs(scenario, replication, 11, 3)
        for policy in scenario.policies:
            one = row(run(scenario, policy, common), beyond=())
            found.setdefault(policy.name, []).append((one["days_below_target"], one["days_expected"]))
    for name, pairs in found.items():
        seen, expected = np.array(pairs).T
        off = seen - expected
        assert abs(off.mean()) <= 2.0 * off.std(ddof=1) / off.size**0.5, name


@pytest.mark.long
def test_steps_missed_six_times_as_often_cost_what_their_chances_say():
    """Days of an unplugged unit and an open bypass, seen less expected, are within three standard errors."""
    scenario, found = load("family_house"), {}
    slips = scenario.people.slips
    often = slips.model_copy(update={"trained": 6.0 * slips.trained, "licensed": 6.0 * slips.licensed})
    people = scenario.people.model_copy(update={"slips": often})
    scenario = scenario.model_copy(update={"people": people})
    for replication in range(80):
        common = common_inputs(scenario, replication, 17, 3)
        for policy in scenario.policies[:4]:
            one = row(run(scenario, policy, common), beyond=())
            for name in ("unplugged_unit", "open_bypass"):
                both = (one[f"days_by_{name}"], one[f"excess_days_by_{name}"])
                found.setdefault((policy.name, name), []).append(both)
    for key, pairs in found.items():
        seen, excess = np.array(pairs).T
        print(*key, seen.mean(), seen.mean() - excess.mean(), excess.std(ddof=1) / excess.size**0.5)
        assert seen.mean() > 0.3, key  # often enough to tell
        assert abs(excess.mean()) <= 3.0 * excess.std(ddof=1) / excess.size**0.5, key


def test_waits_of_a_span_of_chance_are_its_means_by_quadrature():
    """The mean of an exponential wait within each of 16 spans of equal chance, by scipy's integral."""
    ends = [-math.log(1.0 - k / 16) if k < 16 else math.inf for k in range(17)]
    means = [
        16.0 * integrate.quad(lambda t: t * math.exp(-t), first, last)[0]
        for first, last in itertools.pairwise(ends)
    ]
    np.testing.assert_allclose(WAITS, means, rtol=1e-9)
