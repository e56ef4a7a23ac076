"""The parts of a search over intervals by themselves: dials, points, what is noted of them, words, tables."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.constants import DAY_S, YEAR_S
from sim.errors import InputError
from sim.scenario.read.load import DEMO, load
from sim.study.question import Site
from sim.study.search.limits import Limits
from sim.study.search.pool import DAYS_COUNTED, SPENT
from sim.study.statistics.intervals import Interval
from sim.study.tune.curves import UPPER_TENTH, Curve, HardLine, _stretch
from sim.study.tune.question import TuneQuestion
from sim.study.tune.settings_grid import (
    NOW,
    Dial,
    changed_words,
    chosen_dials,
    dials,
    line_through,
    own_point,
    point_of,
    policy_at,
    tightened,
)
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_tables import curve_frame, hard_frame
from sim.study.tune.tune_words import curve_line, robust_lines, tune_sentences
from sim.study.tune.walk import Walk
from sim.units import PSI_PA

SITE = load(DEMO)
POLICIES = {policy.name: policy for policy in SITE.policies}
CALENDAR, VISIT = POLICIES["by the calendar"], POLICIES["one technician visit a year"]
READINGS = POLICIES["by the readings"]


def around(mean, half=0.0, n=6):
    return Interval(mean, mean - half, mean + half, 0.95, "", n)


def dial_of(found, name):
    return next(dial for dial in found if dial.name == name)


# --- dials ---
def test_intervals_stand_on_a_ladder_of_about_half_as_much_again():
    """The gutters, 6 months of 30.4375 d: 0.35 to 2.8 times in whole days, today's own value as it is."""
    gutters = dial_of(dials(SITE, CALENDAR, 5), "clear gutters and diverter")
    own = CALENDAR.rules[gutters.rules[0]].every_s
    steps = [own * factor / DAY_S for factor in (0.35, 0.5, 0.7, 1.4, 2.0, 2.8)]
    wanted = sorted([*(round(step) * DAY_S for step in steps), own])
    assert list(gutters.levels) == wanted and gutters.levels[gutters.own] == own


def test_no_part_stays_in_for_longer_than_it_is_stated_to_last():
    """Of a lamp rated for 9,000 h two years are not to be advised, nor a cartridge past its age limit."""
    lives = {"replace lamp": 9000 / 24, "change cartridge: sediment": 182.625}
    lives["change cartridge: carbon"] = 243.5
    found = dials(SITE, CALENDAR, 5)
    for name, days in lives.items():
        assert max(dial_of(found, name).levels) <= days * DAY_S * (1 + 1e-12)
    assert (
        max(dial_of(found, "replace lamp").levels)
        == CALENDAR.rules[dial_of(found, "replace lamp").rules[0]].every_s
    )


def test_what_stays_in_for_longer_today_is_not_looked_at_beyond_that():
    rules = tuple(
        rule.model_copy(update={"every_s": 1000 * DAY_S}) if rule.task == "replace lamp" else rule
        for rule in CALENDAR.rules
    )
    lamp = dial_of(dials(SITE, CALENDAR.model_copy(update={"rules": rules}), 5), "replace lamp")
    assert [level / DAY_S for level in lamp.levels] == [350, 1000]


def test_no_interval_is_longer_than_a_run_but_todays():
    short = dials(SITE, CALENDAR, 1)
    for dial in short:
        if dial.field.endswith("_s"):
            own = dial.levels[dial.own]
            assert all(level <= YEAR_S * (1 + 1e-12) or level == own for level in dial.levels)
    name = "clear gutters and diverter"
    assert len(dial_of(short, name).levels) < len(dial_of(dials(SITE, CALENDAR, 5), name).levels)


def test_an_interval_is_a_day_at_least():
    rules = tuple(
        rule.model_copy(update={"every_s": DAY_S}) if rule.task == "replace lamp" else rule
        for rule in CALENDAR.rules
    )
    lamp = dial_of(dials(SITE, CALENDAR.model_copy(update={"rules": rules}), 5), "replace lamp")
    assert lamp.levels[0] == DAY_S and lamp.own == 0


def test_a_threshold_of_light_goes_by_twentieths_between_alarm_and_what_a_clean_lamp_shows():
    light = next(dial for dial in dials(SITE, READINGS, 5) if dial.field == "uv_below")
    own = light.levels[light.own]
    every = [own + step for step in (-0.10, -0.05, 0.0, 0.05, 0.10, 0.15)]
    wanted = sorted({value for value in every if SITE.uv.alarm <= value <= 0.95})
    assert light.levels == pytest.approx(wanted)
    assert light.said(light.own, "us") == f"{100 * own:.0f} %"


def test_a_drop_stays_under_four_fifths_of_cut_in():
    drops = [dial for dial in dials(SITE, READINGS, 5) if dial.field == "drop_above_pa"]
    assert drops
    for dial in drops:
        own = dial.levels[dial.own]
        every = [own * factor for factor in (0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8)]
        assert dial.levels == pytest.approx([one for one in every if one < 0.8 * SITE.switch.cut_in_pa])
        assert dial.said(dial.own, "us") == f"{own / PSI_PA:.1f} psi"


def test_an_interval_is_told_in_days():
    lamp = dial_of(dials(SITE, CALENDAR, 5), "replace lamp")
    assert lamp.said(0, "us") == f"{round(lamp.levels[0] / DAY_S)} days"


def test_an_unknown_name_is_refused_with_the_nearest():
    found = dials(SITE, CALENDAR, 5)
    with pytest.raises(InputError, match=r"is called 'replace lamb'; did you mean 'replace lamp'"):
        chosen_dials(found, ["replace lamp", "replace lamb"])
    assert chosen_dials(found, ["replace lamp"]) == [dial_of(found, "replace lamp")]
    assert chosen_dials(found, []) == found


# --- points ---
@pytest.mark.parametrize("policy", [CALENDAR, VISIT, READINGS], ids=lambda one: one.name)
def test_a_policy_stands_at_the_point_it_was_put_at(policy):
    found = dials(SITE, policy, 5)
    for point in line_through(found, own_point(found)):
        assert point_of(policy_at(policy, found, point), found) == point


def test_a_visit_moves_its_tasks_and_its_own_interval_together():
    found = dials(SITE, VISIT, 5)
    at = [dial.name for dial in found].index("visit")
    visit, own = found[at], own_point(found)
    level = 0 if visit.own else 1
    moved = policy_at(VISIT, found, (*own[:at], level, *own[at + 1 :]))
    assert moved.technician_every_s == visit.levels[level]
    assert {moved.rules[rule].every_s for rule in visit.rules} == {visit.levels[level]}
    assert moved.reading_every_s == VISIT.reading_every_s
    assert moved.name != VISIT.name


def test_the_interval_of_readings_is_a_field_of_the_policy():
    found = dials(SITE, READINGS, 5)
    at = next(number for number, dial in enumerate(found) if dial.field == "reading_every_s")
    assert found[at].rules == ()
    own = own_point(found)
    level = found[at].own + 1
    moved = policy_at(READINGS, found, (*own[:at], level, *own[at + 1 :]))
    assert moved.reading_every_s == found[at].levels[level]
    assert moved.technician_every_s == READINGS.technician_every_s


def test_a_line_has_every_other_level_of_each_dial_once():
    found = [Dial("a", "every_s", (0,), (1.0, 2.0, 3.0), 1), Dial("b", "every_s", (1,), (1.0, 2.0), 0)]
    assert line_through(found, (1, 0)) == [(1, 0), (0, 0), (2, 0), (1, 1)]


def test_tighter_is_sooner_and_ends_at_the_first_level():
    found = [
        Dial("a", "every_s", (0,), (1.0, 2.0, 3.0), 1),
        Dial("light", "uv_below", (1,), (0.6, 0.7, 0.8), 1),
    ]
    assert tightened(found, (1, 1), 1) == (0, 2)
    assert tightened(found, (1, 1), 2) == (0, 2)
    assert tightened(found, (2, 0), 1) == (1, 1)


def test_words_name_what_differs():
    found = dials(SITE, CALENDAR, 5)
    own = own_point(found)
    assert changed_words(found, own, "us") == NOW
    at = [dial.name for dial in found].index("replace lamp")
    said = changed_words(found, (*own[:at], 0, *own[at + 1 :]), "us")
    assert said == f"replace lamp at {found[at].said(0, 'us')} (now {found[at].said(found[at].own, 'us')})"


# --- a walk ---
class Rows:
    """A pool of two arms whose runs are given; asked beyond the first two runs, it has none to give."""

    arms = (0, 1)

    def __init__(self, **columns):
        self.columns, self.rows, self.runs = columns, pd.DataFrame(), 4

    def sample(self, arms, first, stop, column):
        assert (list(arms), first, stop) == ([0, 1], 0, 2)
        return np.array(self.columns[column])


def a_walk():
    return Walk(SITE, CALENDAR, dials(SITE, CALENDAR, 5), None)


def test_a_walk_notes_cost_and_how_far_the_worst_limit_is():
    """Days 2 and 4 of 5, hours 30 and 50 of 20: the mean hours, 40, are twice their limit."""
    walk = a_walk()
    pool = Rows(
        **{SPENT: [[100.0, 300.0], [10.0, 20.0]], DAYS_COUNTED: [[2.0, 4.0], [0.0, 0.0]]},
        water_off_h=[[30.0, 50.0], [10.0, 10.0]], years=[[3.0, 3.0], [3.0, 3.0]],
    )  # fmt: skip
    walk.note(pool, ["a", "b"], Limits(5.0, 20.0), 2)
    cost, mean, bound = walk.seen["a"]
    assert (cost, mean) == (200.0, pytest.approx(2.0))
    assert bound == pytest.approx(
        2.0 + 1.3763819 * 10.0 / 20.0
    )  # t at 0.8 with 1 degree; error 20/sqrt(2)/sqrt(2)
    assert walk.seen["b"] == (15.0, pytest.approx(0.5), pytest.approx(0.5))


def test_a_walk_goes_to_the_cheapest_that_is_likely_within_the_limits():
    walk = a_walk()
    walk.seen = {"cheap": (1.0, 0.9, 1.01), "dear": (3.0, 0.2, 0.3), "fair": (2.0, 0.8, 1.0)}
    assert walk.best(["cheap", "dear", "fair"]) == "fair"
    assert walk.best(["cheap"]) == "cheap"
    walk.seen = {"far": (1.0, 1.9, 3.0), "near": (2.0, 1.2, 4.0)}
    assert walk.best(["far", "near"]) == "near"


def test_a_walk_counts_the_runs_it_keeps():
    walk = a_walk()
    assert walk.runs == 0
    walk.keep(Rows())
    walk.keep(Rows())
    assert walk.runs == 8 and len(walk.frames) == 2


@pytest.mark.parametrize(
    ("good", "at", "wanted"),
    [
        ([True, True, False], 0, (0, 1)),
        ([False, True, True], 2, (1, 2)),
        ([True, False, True, True, False, True], 2, (2, 3)),
        ([True, True, True, True], 1, (0, 3)),
        ([False, False, False], 1, (1, 1)),
    ],
)
def test_the_flat_part_ends_at_the_first_bad_level_on_either_side(good, at, wanted):
    assert _stretch(good, at) == wanted


# --- words and tables ---
def a_study(**more):
    found = (Dial("replace lamp", "every_s", (0,), tuple(d * DAY_S for d in (180, 365, 500, 700)), 1),)
    fields = {
        "policy": CALENDAR, "found": found, "own": (1,), "settled": True, "curves": (),
        "rows": pd.DataFrame(), "runs": 10, "worth": 10.0, "limits": Limits(5.0), "chosen": (2,),
        "gap": around(-50.0, 12.0), "cost": around(400.0, 10.0), "days": around(2.0, 0.5),
    }  # fmt: skip
    return TuneStudy(**{**fields, **more})


def a_curve(flat, over=(False,) * 4, level=2):
    costs = tuple(around(mean) for mean in (60.0, 8.0, 0.0, 40.0))
    days = tuple(around(mean, 0.1) for mean in (1.0, 1.5, 2.0, 9.0))
    return Curve(a_study().found[0], level, costs, days, over, flat)


def test_a_curve_says_its_flat_part_and_what_comes_beyond():
    said = curve_line(a_curve((1, 2), (False, False, False, True)), a_study(), "USD", "us")
    assert said == (
        "replace lamp: 365 days to 500 days is the flat part, within 10 USD a year of the best; at 180 days "
        "it costs 60 USD a year more; at 700 days days below the dose target reach 9.0 (8.9 to 9.1) a year: "
        "the cliff."
    )


def test_a_flat_part_of_one_level_is_no_span():
    said = curve_line(a_curve((2, 2)), a_study(), "USD", "us")
    assert said.startswith("replace lamp: 500 days is the flat part, within")
    assert "that was tried" not in said
    assert "at 365 days water is off for longer than the limit" in said  # neither cliff nor cost ends it


def test_a_flat_part_up_to_the_last_level_says_so():
    said = curve_line(a_curve((1, 3)), a_study(), "USD", "us")
    assert "365 days to 700 days is the flat part" in said and ", up to the longest that was tried;" in said
    last = curve_line(a_curve((3, 3)), a_study(), "USD", "us")
    assert "700 days is the flat part, within 10 USD a year of the best, and the longest that was" in last


def test_a_choice_is_told_with_its_cost_and_days():
    first, second, *rest = tune_sentences(a_study(), "USD", "us")
    assert "replace lamp at 500 days (now 365 days)" in first
    assert "400 ± 10 USD a year" in second and "2.0 (1.5 to 2.5) days a year" in second
    assert "50 ± 12 USD a year less than today's setting" in second
    assert "with a probability of at least 95 %" in rest[-1]
    assert "The runs did not settle it" in tune_sentences(a_study(settled=False), "USD", "us")[-1]
    assert "it is today's setting" in tune_sentences(a_study(gap=None), "USD", "us")[1]


@pytest.mark.parametrize("missing", ["chosen", "cost", "days"])
def test_without_a_choice_nothing_is_recommended(missing):
    assert "so none is recommended" in tune_sentences(a_study(**{missing: None}), "USD", "us")[0]


def a_line(name, point, cost, days, holds):
    return HardLine(name, point, around(cost), around(days, 0.5), holds)


def test_a_choice_that_holds_where_everything_fouls_is_said_to():
    study = a_study(hard=(a_line("the choice", (2,), 400.0, 3.0, True),), robust=(2,))
    assert list(robust_lines(study, "USD", "us")) == [
        "In a house that fouls faster than nine in ten it holds too, with 3.0 (2.5 to 3.5) days a year below "
        "the dose target."
    ]
    assert list(robust_lines(a_study(), "USD", "us")) == []


@pytest.mark.parametrize(
    ("days", "said", "nor", "cheapest"),
    [
        (9.0, "it does not hold, with", "nor does any", "the cheapest that does is"),
        (5.0, "it was not shown to hold, with", "nor was any", "the cheapest that was shown to is"),
    ],
)
def test_a_choice_that_does_not_hold_there_is_told_with_what_does(days, said, nor, cheapest):
    lines = (a_line("the choice", (2,), 400.0, days, False), a_line("tighter", (1,), 450.0, 4.0, True))
    (alone,) = robust_lines(a_study(hard=lines[:1]), "USD", "us")
    assert said in alone and nor in alone
    (both,) = robust_lines(a_study(hard=lines, robust=(1,)), "USD", "us")
    assert said in both and f"{cheapest} tighter: today's setting" in both
    assert "cost 50 USD a year more than the choice" in both


def test_tables_mark_where_a_dial_stands_and_what_is_flat():
    curve = replace(a_curve((1, 2)), level=2)
    table = curve_frame(a_study(curves=(curve,)), "us")
    assert table["now"].tolist() == [False, True, False, False]
    assert table["chosen"].tolist() == [False, False, True, False]
    assert table["flat"].tolist() == [False, True, True, False]
    assert table["cost_less_choice"].tolist() == [60.0, 8.0, 0.0, 40.0]
    lines = (a_line("the choice", (2,), 400.0, 9.0, False), a_line("tighter", (1,), 450.0, 4.0, True))
    hard = hard_frame(a_study(hard=lines, robust=(1,)), "us")
    assert hard["robust_choice"].tolist() == [False, True]
    assert hard["holds"].tolist() == [False, True]


# --- the question ---
def asked(**more):
    return TuneQuestion(
        site=Site(SITE), policy="by the calendar", years=3, worth=10.0, replications=5, **more
    )


@pytest.mark.parametrize("limit", [0.0, 366.0])
def test_a_limit_a_year_can_hold_is_taken(limit):
    question = asked(limit_days=limit)
    question.check()
    assert question.limits.days_below_target == limit
    assert question.limits.water_off_h == asked().limits.water_off_h


def test_without_a_limit_the_sites_own_holds():
    assert asked().limits.days_below_target == SITE.goals.limit_days_below_target


@pytest.mark.parametrize("limit", [-0.01, 366.5, 400.0])
def test_a_limit_no_year_can_hold_is_refused(limit):
    with pytest.raises(InputError, match="wanted 0 to 366"):
        asked(limit_days=limit).check()


def test_runs_of_a_house_that_fouls_are_not_told_as_so_far():
    runner = SimpleNamespace(designs=())
    assert asked()._so_far(runner, UPPER_TENTH) is None
