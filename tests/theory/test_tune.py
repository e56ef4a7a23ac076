"""The search over intervals on a toy whose best settings, flat part and cliff are known in closed form."""

from contextlib import contextmanager

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from sim.constants import DAY_S
from sim.errors import InputError
from sim.scenario.read import load
from sim.study.runs.request import Design
from sim.study.search.limits import Limits
from sim.study.search.pool import Arm, Pool
from sim.study.search.sensitivity import Mover, hard, price_movers, upper_tenth
from sim.study.size.size_words import nearest_flip
from sim.study.tune.settings_grid import dials, own_point, policy_at, tightened
from sim.study.tune.tune import tune_study
from sim.study.tune.tune_words import curve_line, tune_sentences

WORTH, YEARS = 10.0, 3
BEST_LAMP_D, CLIFF_WIPE_D = 365.0, 70.0
WORK = 6000.0  # money a year times days: what wiping every day would cost


class Toy:
    """Lamp: dearer away from a best interval. Wipes: cheaper the longer, until days below the target come."""

    def __init__(self, designs):
        self.designs = tuple(designs)

    def run(self, requests):
        rows = []
        for request in requests:
            design = self.designs[request.design]
            film = design.scenario.uv.sleeve_film_per_s / load.load(load.DEMO).uv.sleeve_film_per_s
            for at in request.policies:
                policy = design.policies[at]
                every_d = {
                    rule.task: rule.every_s / DAY_S for rule in policy.rules if rule.when == "calendar"
                }
                for number in range(request.first, request.stop):
                    shared, own = np.random.default_rng([number, 7]).normal(size=2)
                    lamp = 50.0 * abs(np.log(every_d["replace lamp"] / BEST_LAMP_D))
                    wipe = WORK / every_d["wipe sleeve"]
                    over = max(0.0, every_d["wipe sleeve"] * film - CLIFF_WIPE_D)
                    cost = 300.0 + lamp + wipe + 40.0 * shared
                    row = {"design": request.design, "policy": policy.name, "replication": number}
                    row |= {"years": float(YEARS), "cost": cost, "water_off_h": 10.0 + own}
                    row |= {"days_below_target": 1.0 + 0.2 * abs(own) + over, "cost_parts": lamp}
                    row |= {"cost_labour": wipe, "cost_part_life": 0.0, "cost_callouts": 0.0}
                    row |= {"cost_energy": 0.0, "cost_water": 0.0, "cost_renewals": 0.0}
                    rows.append(row)
        return pd.DataFrame(rows)


@contextmanager
def opener(designs, name):
    del name
    yield Toy(designs)


@pytest.fixture(scope="module")
def site():
    return load.load(load.DEMO)


@pytest.fixture(scope="module")
def found(site):
    only = ["replace lamp", "wipe sleeve and window"]
    return tune_study(site, site.policies[0], opener, Limits(5.0, 500.0), WORTH, 10, YEARS, only)


def level_days(study, name, point):
    at = [dial.name for dial in study.found].index(name)
    return study.found[at].levels[point[at]] / DAY_S


def test_it_finds_the_best_of_all_settings(found):
    """Longest wipes before the cliff at 70 days, lamp at its best level, by all levels of the lattice."""
    wipes = next(dial for dial in found.found if dial.name.startswith("wipe"))
    longest = max(level / DAY_S for level in wipes.levels if level / DAY_S <= CLIFF_WIPE_D)
    assert level_days(found, wipes.name, found.chosen) == longest
    lamp = next(dial for dial in found.found if dial.name == "replace lamp")
    nearest = min((level / DAY_S for level in lamp.levels), key=lambda d: abs(np.log(d / BEST_LAMP_D)))
    assert level_days(found, lamp.name, found.chosen) == nearest
    assert found.settled


def cost_at(study, point):
    """Mean cost of a point, but for the noise that all points share."""
    lamp = 50.0 * abs(np.log(level_days(study, "replace lamp", point) / BEST_LAMP_D))
    return 300.0 + lamp + WORK / level_days(study, "wipe sleeve and window", point)


@pytest.fixture(scope="module")
def moved(site):
    """A policy that changes the lamp every two years, where one is best."""
    late = tuple(
        rule.model_copy(update={"every_s": 730.0 * DAY_S}) if rule.task == "replace lamp" else rule
        for rule in site.policies[0].rules
    )
    policy = site.policies[0].model_copy(update={"rules": late})
    only = ["replace lamp", "wipe sleeve and window"]
    return tune_study(site, policy, opener, Limits(5.0, 500.0), WORTH, 10, YEARS, only)


def test_what_is_said_of_the_choice_is_its_difference_to_today_in_the_same_weather(moved):
    found = moved
    assert found.chosen != found.own
    wanted = cost_at(found, found.chosen) - cost_at(found, found.own)
    assert found.gap.estimate == pytest.approx(wanted, abs=1e-9)  # shared noise falls out pair by pair
    assert found.cost.estimate == pytest.approx(cost_at(found, found.chosen), abs=4 * 40.0 / 10**0.5)
    assert found.days.estimate == pytest.approx(1.0 + 0.2 * (2.0 / np.pi) ** 0.5, abs=0.2)
    assert found.rows.index.is_unique


def test_the_next_best_is_within_the_limits_and_no_cheaper(found):
    assert found.other not in (None, found.chosen)
    assert level_days(found, "wipe sleeve and window", found.other) <= CLIFF_WIPE_D + 5.0
    assert cost_at(found, found.other) >= cost_at(found, found.chosen) - WORTH
    assert 0 < len(found.movers) <= 5


def test_where_today_is_the_choice_there_is_no_difference_to_it(found):
    assert found.chosen == found.own and found.gap is None


def test_lines_of_a_hard_house_cost_what_they_do_in_the_house_as_it_is(found):
    first, *others = found.hard
    assert first.point == found.chosen and len({line.point for line in found.hard}) == len(found.hard)
    for line in others:
        wanted = cost_at(found, line.point) - cost_at(found, first.point)
        assert line.cost.estimate - first.cost.estimate == pytest.approx(wanted, abs=1e-9)
    fast = upper_tenth(0.4) * level_days(found, "wipe sleeve and window", found.chosen) - CLIFF_WIPE_D
    assert first.days.estimate == pytest.approx(fast + 1.0 + 0.2 * (2.0 / np.pi) ** 0.5, abs=0.2)


def test_its_curves_show_the_flat_part_and_the_cliff(found):
    for curve in found.curves:
        base = curve.dial.levels[curve.level] / DAY_S
        for at, level in enumerate(curve.dial.levels):
            days = level / DAY_S
            if curve.dial.name.startswith("wipe"):
                expected = WORK / days - WORK / base
            else:
                expected = 50.0 * (abs(np.log(days / BEST_LAMP_D)) - abs(np.log(base / BEST_LAMP_D)))
            assert curve.cost[at].estimate == pytest.approx(expected, abs=1e-6)
        first, last = curve.flat
        assert all(curve.cost[at].estimate <= WORTH for at in range(first, last + 1))
    wipes = next(curve for curve in found.curves if curve.dial.name.startswith("wipe"))
    assert wipes.flat[1] == wipes.level
    assert "the cliff" in curve_line(wipes, found, "USD", "us")


def test_the_robust_choice_holds_where_films_grow_fast(found):
    """Upper tenth of films: 1.54 times the mean, so wipes must come before 70/1.54 days."""
    factor = upper_tenth(0.4)
    assert level_days(found, "wipe sleeve and window", found.chosen) * factor > CLIFF_WIPE_D
    assert level_days(found, "wipe sleeve and window", found.robust) * factor <= CLIFF_WIPE_D
    assert not found.hard[0].holds
    assert "does not hold" in " ".join(tune_sentences(found, "USD", "us"))


def test_nothing_is_chosen_when_no_setting_keeps_within_the_limit(site):
    study = tune_study(site, site.policies[0], opener, Limits(0.5), WORTH, 10, YEARS, ["replace lamp"])
    assert study.chosen is None
    assert "none is recommended" in " ".join(tune_sentences(study, "USD", "us"))


def test_the_upper_tenth_is_that_of_the_lognormal_law(site):

    law = stats.lognorm(0.4, scale=np.exp(-0.08))  # of mean 1
    assert law.mean() == pytest.approx(1.0)
    assert upper_tenth(0.4) == pytest.approx(law.ppf(0.9), rel=1e-9)
    worse = hard(site)
    assert worse.uv.sleeve_film_per_s == pytest.approx(site.uv.sleeve_film_per_s * law.ppf(0.9), rel=1e-9)
    assert worse.uv.film_spread == 0.0


def test_the_price_at_which_two_cost_the_same_is_where_their_lines_cross(site):
    """Cost = fixed + price * use: 300 + 5 p against 330 + 2 p cross at p = 10."""

    class Two:
        designs = tuple(Design(str(at), site, site.policies[:1]) for at in range(2))

        def run(self, requests):
            rows = []
            for request in requests:
                for number in range(request.first, request.stop):
                    noise = float(number % 5)
                    fixed, use = ((300.0, 5.0), (330.0, 2.0))[request.design]
                    row = dict.fromkeys(
                        ["cost_part_life", "cost_callouts", "cost_energy", "cost_water", "cost_renewals"], 0.0
                    )
                    row |= {"design": request.design, "policy": site.policies[0].name, "replication": number}
                    row |= {"cost_parts": fixed + noise, "cost_labour": use * 4.0, "days_below_target": 0.0}
                    row["cost"] = row["cost_parts"] + row["cost_labour"]
                    rows.append(row)
            return pd.DataFrame(rows)

    pool = Pool(Two(), [0.0, 0.0])
    pool.need(pool.arms, 0, 10)
    movers = {mover.name: mover for mover in price_movers(pool, Arm(0, 0), Arm(1, 0), [0.0, 0.0])}
    assert movers["the worth of an hour of labour"].factor * 4.0 == pytest.approx(10.0)
    assert movers["the worth of an hour of labour"].change.estimate == pytest.approx(0.1 * 4.0 * 3.0)


def test_the_nearest_flip_is_nearest_in_proportion():
    change = price = None
    movers = tuple(
        Mover(name, change, factor) for name, factor in (("a", 0.4), ("b", 1.9), ("c", float("nan")))
    )
    assert nearest_flip(movers).name == "b"
    assert nearest_flip((Mover("d", price),)) is None


def test_dials_of_a_policy(site):
    found = dials(site, site.policies[0], 5)
    names = [dial.name for dial in found]
    assert "wipe sleeve and window" in names
    assert "take sample" not in names
    assert policy_at(site.policies[0], found, own_point(found)) == site.policies[0]
    sooner = policy_at(site.policies[0], found, tightened(found, own_point(found), 1))
    pairs = zip(sooner.rules, site.policies[0].rules, strict=True)
    assert all(a.every_s <= b.every_s for a, b in pairs if a.when == "calendar")
    visit = next(p for p in site.policies if p.technician_every_s)
    assert any(dial.name == "visit" for dial in dials(site, visit, 5))


def test_a_policy_without_dials_is_refused(site):
    nothing = next(policy for policy in site.policies if policy.name == "nothing done")
    with pytest.raises(InputError, match="no interval and no threshold"):
        dials(site, nothing, 3)
