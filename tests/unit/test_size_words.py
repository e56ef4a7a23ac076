"""What the answer of a search over sizes says: choice, next best, what moves it, how sure, how many runs."""

import math
from types import SimpleNamespace

import pandas as pd
import pytest

from sim.study.search.limits import Limits
from sim.study.search.pool import Arm
from sim.study.search.search import OVER, TIE, UNSHOWN
from sim.study.search.sensitivity import Mover
from sim.study.size.size_words import (
    _choice,
    _none,
    flip_line,
    guarantee,
    limits_said,
    mover_lines,
    nearest_flip,
    put_out_line,
    rival_line,
    saved,
)
from sim.study.statistics.intervals import Interval
from sim.units import PSI_PA

NONE = Limits(5.0, math.inf, math.inf, math.nan)


def span(estimate, half=1.0):
    return Interval(estimate, estimate - half, estimate + half, 0.95, "made up", 10)


def found(**more):
    usual = {
        "chosen": "a", "rival": "b", "settled": True, "error": 0.1, "worth": 25.0, "full": False,
        "searched": 400, "grid": 1000, "fates": {"a": "chosen", "b": TIE}, "limits": NONE,
    }  # fmt: skip
    return SimpleNamespace(**(usual | more))


def study(gap=None, fresh=True, movers=(), **more):
    line = {"design": "small", "fresh": fresh, "cost_equipment": 320.0, "runs": 40}
    line |= {"cost": 900.0, "cost_low": 880.0, "cost_high": 920.0}
    line |= {"days_below_target": 2.0, "days_below_target_low": 1.5, "days_below_target_high": 2.5}
    other = line | {"design": "large", "days_below_target": 1.0, "days_below_target_high": 1.2}
    labels = {"a": "small", "b": "large", "c": "huge", "d": "other"}
    return SimpleNamespace(
        found=found(**more), labels=labels, gap=gap, movers=movers, lines=pd.DataFrame([line, other]), over={}
    )


# --- what moves the difference ---
@pytest.mark.parametrize(("change", "side"), [(30.0, "towards the next"), (-30.0, "towards the choice")])
def test_what_makes_the_choice_dearer_moves_the_advice_towards_the_next(change, side):
    (line,) = mover_lines((Mover("the price of lamps", span(change)),), "USD")
    assert line == f"The price of lamps up by a tenth moves it by 30 ± 1.0 USD a year {side}."


def test_a_price_at_which_both_cost_the_same_is_told_and_what_does_nothing_is_not():
    movers = (
        Mover("people", span(-50.0)), Mover("the price of lamps", span(20.0), 1.5),
        Mover("the price of air", Interval(0.0, 0.0, 0.0, 0.95, "", 10)),
    )  # fmt: skip
    first, second = mover_lines(movers, "USD")
    assert first.startswith("People moves it by 50")
    assert second.endswith("The two cost the same at 1.5 times today's.")


def test_what_may_move_it_either_way_is_told_at_the_end_and_only_some_of_it():
    movers = (*(Mover(f"thing {k}", span(0.5 + 0.1 * k)) for k in range(6)), Mover("people", span(-50.0)))
    first, last = mover_lines(movers, "USD")
    assert first.startswith("People")
    assert last.startswith("It cannot be told which way these move it: thing 5")  # the greatest first
    assert last.count(";") == 3 and "thing 0" not in last


def test_the_soonest_flip_is_that_of_the_price_that_has_to_change_least_in_proportion():
    movers = (
        Mover("the price of lamps", span(1.0), 3.0), Mover("the price of pumps", span(1.0), 0.5),
        Mover("the price of air", span(1.0)), Mover("labour", span(1.0), -2.0),
    )  # fmt: skip
    assert nearest_flip(movers).name == "the price of pumps"
    assert flip_line(movers, "large") == (
        "Soonest to flip the advice is the price of pumps: at 0.50 times today's, "
        "the next best costs as much (large)."
    )
    assert flip_line(movers[2:], "large").startswith("No price by itself was shown to flip the advice")


# --- the choice and the next ---
@pytest.mark.parametrize(
    ("fresh", "full", "said"), [(True, False, True), (True, True, False), (False, False, False)]
)
def test_a_choice_says_whether_its_numbers_are_of_fresh_runs(fresh, full, said):
    text = next(_choice(study(fresh=fresh, full=full), "USD"))
    assert text.startswith("Within the limits small costs the least: 900 (880 to 920) USD a year")
    assert (" in fresh runs" in text) is said
    assert "320 is equipment" in text and "2.0 (1.5 to 2.5) days a year" in text and "(limit 5)" in text


@pytest.mark.parametrize(
    ("more", "stands"),
    [
        ({}, "costs the least"),  # nothing else is within the limits
        ({"gap": span(-60.0, 10.0)}, "costs the least"),
        ({"gap": span(-5.0, 10.0)}, "costs the least, or within 25 USD a year of it"),
        ({"gap": span(5.0, 10.0)}, "costs the least, or within 25 USD a year of it"),
        ({"gap": span(-60.0, 10.0), "settled": False}, "costs the least so far"),
        ({"fates": {"a": "chosen"}, "rival": None}, "is the only design that was run"),
    ],
)
def test_it_is_not_said_to_cost_less_than_the_runs_showed(more, stands):
    text = next(_choice(study(**more), "USD"))
    assert text.startswith(f"Within the limits small {stands}: 900 (880 to 920) USD a year")


def test_of_one_design_no_choice_is_promised():
    assert guarantee(found(fates={"a": "chosen"}), "USD") == ""
    none = guarantee(found(fates={"a": UNSHOWN}, chosen=None), "USD")
    assert none == "The limits are judged at 90 % for all designs together."


@pytest.mark.parametrize(
    ("gap", "told"),
    [
        (None, ""),
        (span(-60.0, 10.0), "Next is large: in fresh runs the choice costs 60 ± 10 USD a year less."),
        (span(5.0, 10.0), "Next is large: in fresh runs the choice costs about as much "
                          "(at most 15 USD a year apart); as to cost, either will do."),
    ],
)  # fmt: skip
def test_the_next_best_is_told_by_how_much_the_choice_costs_less(gap, told):
    assert rival_line(study(gap), "USD") == told


def test_a_next_best_that_was_not_shown_to_keep_the_limits_says_so():
    said = rival_line(study(span(-60.0), fates={"b": UNSHOWN}, full=True), "USD")
    assert said.startswith("Next is large, not shown to keep within the limits: the choice costs 60")


@pytest.mark.parametrize(("gap", "flips"), [(span(-60.0, 10.0), 1), (span(-5.0, 10.0), 0), (None, 0)])
def test_what_would_flip_the_advice_is_told_where_the_choice_is_clearly_cheaper(gap, flips):
    lines = list(_choice(study(gap), "USD"))
    assert sum("flip the advice" in line for line in lines) == flips


def test_others_that_may_be_as_good_are_counted_without_the_next_best():
    lines = list(_choice(study(span(-60.0), fates={"a": "chosen", "b": TIE, "c": TIE, "d": TIE}), "USD"))
    assert lines[-1] == "2 more may be as good: huge, other."


def test_where_none_is_named_the_nearest_is_that_with_the_least_upper_bound_of_days():
    assert "Not shown, and nearest to it: large, with 1.0" in _none(study(chosen=None), "us")


# --- how sure, how many ---
def test_what_the_search_promises_depends_on_how_it_ended():
    assert "with a probability of at least 90 %" in guarantee(found(), "USD")
    assert guarantee(found(chosen=None), "USD") == "The limits are judged at 90 % for all designs together."
    assert guarantee(found(settled=False), "USD").startswith(
        "The runs did not settle it to 25 USD a year at 90 %"
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "took 400 runs, 60 % fewer than the 1,000 of the full grid, and 30 more"),
        ({"searched": 1000}, "1,000 runs, as many as the 1,000"),
        ({"searched": 1200}, "1,200 runs, more than the 1,000"),
        ({"full": True}, "Every design had every replication: 400 runs."),
    ],
)
def test_runs_are_counted_beside_the_full_grid(more, said):
    assert said in saved(found(**more), 30)


def test_designs_that_limits_put_out_are_counted_by_limit():
    one = study(fates={Arm(0, 0): "chosen", Arm(1, 0): OVER, Arm(2, 0): OVER})
    one.over = {"days": 1, "water off": 1}
    assert put_out_line(one) == "Limits put out 2 of 3 designs in the runs: 1 on days and 1 on water off."
    assert put_out_line(study()) == ""


def test_a_design_that_was_run_in_two_ways_is_not_counted_as_two():
    one = study(fates={Arm(0, 0): "chosen", Arm(0, 1): OVER, Arm(1, 0): "dearer"})
    one.over = {"days": 1}
    assert put_out_line(one) == (
        "Limits put out 1 of 3 pairs of a design and a way of looking after it in the runs: 1 on days."
    )


def test_limits_are_said_as_far_as_there_are_any():
    assert limits_said(NONE) == "5 days below the dose target a year"
    assert limits_said(Limits(1.0, 500.0, 1.0, 20.0 * PSI_PA)) == (
        "1 day below the dose target, 500 water-off hours and 1 hour of alarm a year, "
        "and 20.0 psi at the tap in 19 of 20 draws"
    )
