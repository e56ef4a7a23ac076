"""What to check first at a house: the caution first, cheap before dear, the table in order."""

import json
from datetime import date, datetime

import numpy as np
import pytest

from sim import cli
from sim.diary.book import Diary
from sim.diary.entries import Act, Reading
from sim.diary.home import diary_in, invented
from sim.errors import InputError
from sim.scenario.read.load import load
from sim.study.check_first import low_light, plan
from sim.study.check_first.question import CheckFirstQuestion, _mend_of, by_table, of_light
from sim.study.check_first.signs import sign_of, signs
from sim.study.check_first.words import check_lines
from sim.study.question import Site
from sim.study.questions import answer_files, ask, read_answer
from sim.study.runs.means import Means

TODAY = date(2025, 5, 11)
TABLES = [name for name, sign in signs().items() if sign.causes]


@pytest.fixture(scope="module")
def scenario():
    return load("family_house")


@pytest.fixture(scope="module")
def low(scenario, tmp_path_factory):
    diary = diary_in(invented("family_house"), scenario, TODAY)
    question = CheckFirstQuestion(site=Site(scenario), diary=diary, today=TODAY, sign="low uv", count=16)
    return ask(question, Means(2, tmp_path_factory.mktemp("paths")))


def test_the_cheap_wipe_comes_before_the_lamp_with_a_reading_between(low):
    doing = [act.do for act in low.acts]
    assert doing[0].startswith("write down")
    wipes = [k for k, do in enumerate(doing) if "wipe" in do and do.endswith("then read")]
    lamp = [k for k, do in enumerate(doing) if "lamp" in do]
    assert wipes and all(k < other for k in wipes for other in lamp)
    assert low.cost <= 0.5 * low.other_cost  # against the lamp first
    assert sum(share for _, share in low.causes) == pytest.approx(1.0)
    assert sum(act.share for act in low.acts) == pytest.approx(1.0)


def wiped_a_week_ago(stage_changed):
    """A clean unit with a new lamp behind an old carbon block, and a reading just over the alarm."""
    week = datetime(2025, 5, 4)
    acts = [Act(week, task, "") for task in ("replace lamp", "wipe sensor window", "wipe sleeve")]
    acts += [Act(stage_changed, "change cartridge", "carbon"), Act(week, "change cartridge", "sediment")]
    return Diary((Reading(datetime(2025, 5, 10), "UV", 0.61, 0.01),), tuple(sorted(acts)))


def test_where_leaves_stain_the_water_clean_glass_leaves_the_carbon(tmp_path):
    """Quartz just wiped and a lamp just changed lose no light, so what takes it is in the water."""
    site, diary = load("forest_house"), wiped_a_week_ago(datetime(2024, 6, 1))
    question = CheckFirstQuestion(site=Site(site), diary=diary, today=TODAY, sign="low uv", count=16)
    found = ask(question, Means(2, tmp_path))
    mends = {act.do: act.share for act in found.acts}
    carbon = next(share for do, share in mends.items() if do.startswith("change cartridge"))
    assert carbon == max(mends.values()) > 0.5
    assert dict(found.causes)["water"] > 0.5


def test_an_answer_goes_through_files_and_words(low, tmp_path):
    for name, content in answer_files(low, {}).items():
        (tmp_path / name).write_bytes(content)
    assert read_answer(tmp_path) == low
    lines = check_lines(low, "USD")
    assert lines[0] == low.caution and lines[-1] == low.stop  # the caution stands before any step
    assert not any("nan" in line for line in lines)


def test_of_draws_each_is_given_back_what_its_mend_gives():
    gain = np.log(1.0 / np.array([[0.6, 0.99, 0.99, 1.0], [0.99, 0.6, 0.99, 1.0], [0.8, 0.8, 0.99, 1.0]]))
    found = low_light.LowLight(gain, gain.sum(axis=1), -float(np.log(0.7)), True)
    assert found.left(frozenset()) == 1.0
    assert found.left(frozenset({0})) == pytest.approx(0.0 + 1.0 / 3.0)  # the sleeve alone is not wiped
    assert found.left(frozenset({0, 1})) == 0.0
    assert low_light.orders(found, np.array([3.0, 8.0, 98.0, 67.0]), 175.0)[0] == (0, 1)


@pytest.mark.parametrize("name", TABLES)
def test_a_table_has_whole_shares_and_its_order_costs_no_more_than_no_check(scenario, name):
    sign = sign_of(name)
    assert sum(cause.share for cause in sign.causes) == pytest.approx(1.0)
    for check in sign.checks:
        assert all(0.0 < chance < 1.0 for chance in check.chances), check.name
    answer = by_table(scenario, sign)
    assert answer.cost <= answer.other_cost + 1e-9
    assert answer.caution and answer.stop
    assert answer.acts[-1].do == "call a technician"


@pytest.mark.parametrize("name", TABLES)
def test_faults_of_a_table_are_found_early_and_no_fixed_order_is_cheaper(scenario, name):
    """Faults drawn by the shares, results by the chances: an honest run of the plan, not its own sums."""
    sign, rng = sign_of(name), np.random.default_rng(3)
    hour = scenario.people.owner_hour / 60.0
    call = scenario.people.technician_fee + scenario.people.technician_hour
    mends = tuple(_mend_of(scenario, cause, hour)[3] for cause in sign.causes)
    case = plan.Case(tuple(plan.Look(one.minutes * hour, one.chances) for one in sign.checks), mends, call)
    shares = tuple(cause.share for cause in sign.causes)
    paid = []
    for fault in rng.choice(len(shares), 400, p=shares):
        now, left, cost = shares, frozenset(range(len(case.looks))), 0.0
        while (k := plan.chosen(case, now, left)[0]) >= 0:
            yes = rng.random() < case.looks[k].chances[fault]
            now, left = plan.after(now, case.looks[k].chances, yes)[1], left - {k}
            cost += case.looks[k].cost
        for k in plan.mending(case, now)[1]:
            cost += mends[k]
            if k == fault:
                break
        else:
            cost += call
        paid.append(cost)
    error = np.std(paid) / np.sqrt(len(paid))
    assert np.mean(paid) == pytest.approx(plan.expected(case, shares), abs=4.0 * error)
    assert np.mean(paid) <= plan.mending(case, shares)[0] + 3.0 * error


def test_a_house_without_a_mend_and_an_unknown_sign_are_refused(scenario, capsys):
    with pytest.raises(InputError, match="did you mean"):
        ask(CheckFirstQuestion(site=Site(scenario), diary=Diary((), ()), today=TODAY, sign="weak tap"))
    assert cli.main(["today", "family_house", "--sign", "weak tap"]) == 2
    assert "weak taps" in capsys.readouterr().err


def test_the_command_line_says_the_order_and_gives_json(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert cli.main(["today", "family_house", "--sign", "weak taps"]) == 0
    shown = capsys.readouterr().out
    assert shown.index("Shut, relieve and prove zero") < shown.index("  1. ")
    assert "bucket" in shown or "handle" in shown
    assert cli.main(["today", "family_house", "--sign", "weak taps", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["kind"] == "check-first" and len(found["acts"]) > 3


def test_the_order_of_a_house_with_lost_light_is_held_to_all_orders(scenario):
    rng = np.random.default_rng(8)
    gain = rng.exponential([0.25, 0.2, 0.12, 0.01], (500, 4))
    found = low_light.LowLight(gain, gain.sum(axis=1) + 0.05, -float(np.log(0.7)), True)
    answer = of_light(scenario, sign_of("low uv"), found)
    assert answer.cost <= answer.other_cost
    assert 0.0 < answer.acts[1].share < 1.0
