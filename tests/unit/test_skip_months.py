"""How a house stood in months of a skip, beside the run as kept; made-up months, sums by hand."""

import io
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.outcome.signs import Sign
from sim.plant.cause import CAUSES
from sim.study.skip.months import Month, _calendar, standing
from sim.study.skip.question import SkipAnswer
from sim.study.skip.tally import Tally, firsts, origins, tally, whole
from sim.study.wording import given

NOTHING = Tally({}, {})
AS_KEPT = Month(
    number=1, first=date(2021, 1, 1), reading=(0.9, 0.9), visibly_lower=False, drop_pa=(0.0, 0.0),
    below_by=NOTHING, alarm_by=NOTHING, off_by=NOTHING, weak_s=(0.0, 0.0), dry_days=(0, 0),
    lines=(), signs=(),
)  # fmt: skip


def month(**more):
    return replace(AS_KEPT, **more)


def test_a_month_as_kept_stands_for_nothing_and_is_quiet():
    assert AS_KEPT.stands == "" and AS_KEPT.quiet and AS_KEPT.visible == ()
    assert not month(lines=("The sleeve was not wiped.",)).quiet
    assert not month(dry_days=(1, 0)).quiet


def test_the_reading_is_that_at_the_end_of_the_last_month():
    low, lower = (month(reading=(mine, 0.9), visibly_lower=True) for mine in (0.7, 0.6))
    assert standing((low, lower)) == "UV reading 60 % at the end (kept: 90 %)"
    assert standing((low, month(reading=(0.88, 0.9)))) == ""  # back again
    assert standing((AS_KEPT, low)).startswith("UV reading 70 %")


def test_sums_of_months_are_told_with_what_the_kept_run_had():
    one = month(
        alarm_by=Tally({"film": 3.0}, {}), off_by=Tally({"clogged": 2.0}, {}), weak_s=(900.0, 0.0),
        dry_days=(2, 1), below_by=Tally({"film": 1.0}, {"power cut": 1.0}),
    )  # fmt: skip
    other = month(
        alarm_by=Tally({"film": 4.0}, {"film": 1.0}), off_by=Tally({"clogged": 5.0}, {}),
        weak_s=(1800.0, 600.0), dry_days=(1, 0), below_by=Tally({"film": 2.0}, {"power cut": 1.0}),
    )  # fmt: skip
    assert standing((one, other)).split("; ") == [
        "alarm on, days: 7 (kept: 1): 7 from film on the sleeve (kept: 1)",
        "water off, hours: 7.0 (kept: 0): 7.0 from clogged cartridges",
        "days without water: 3 (kept: 1)",
        "weak taps 45 min (kept: 10 min)",
        "below the dose target, days: 3 (kept: 2): 3 from film on the sleeve (kept: 0) and 0 from power cuts "
        "(kept: 2)",
    ]


@pytest.mark.parametrize(("hours", "told"), [(3.0, False), (3.5, True)])
def test_water_off_for_as_long_as_a_few_services_take_is_not_told(hours, told):
    assert ("water off" in month(off_by=Tally({"clogged": hours}, {})).stands) is told


@pytest.mark.parametrize(
    ("weak_s", "told"), [((600.0, 0.0), False), ((601.0, 0.0), True), ((900.0, 600.0), False)]
)
def test_weak_taps_are_told_from_ten_minutes_more_on(weak_s, told):
    assert ("weak taps" in month(weak_s=weak_s).stands) is told


def test_one_cause_set_against_another_does_not_cancel():
    assert month(below_by=Tally({"film": 1.0}, {"power cut": 1.0})).stands != ""
    assert not Tally({"film": 2.0}, {"film": 2.0}).differs(0.0)
    assert Tally({"film": 2.0}, {"film": 3.5}).differs(1.0) and not Tally(
        {"film": 2.0}, {"film": 3.0}
    ).differs(1.0)


def test_what_could_be_seen_is_said_whether_it_is_new_or_not():
    bad = month(
        alarm_by=Tally({"film": 2.0}, {}), off_by=Tally({"clogged": 1.5}, {}), weak_s=(660.0, 0.0),
        signs=("The water tasted.",),
    )  # fmt: skip
    assert bad.visible == (
        "The water tasted.", "The UV alarm was on, 2 days.", "The taps gave nothing for 1.5 h.",
        "The taps ran weak for 11 min.",
    )  # fmt: skip
    little = month(off_by=Tally({"service": 1.0}, {}), weak_s=(600.0, 0.0))
    assert little.visible == ()  # a service takes an hour, and ten weak minutes are not noticed


# --- tallies ---
def _table(**days):
    """Return a table of so many days by cause, from the days on which each cause had a part."""
    found = np.zeros((6, len(CAUSES)))
    for name, on in days.items():
        found[on, CAUSES.index(name.replace("_", " "))] = 1.0
    return found


def test_some_days_of_both_runs_are_summed_by_cause():
    both = (_table(film=[1, 2, 3], power_cut=[5]), _table(power_cut=[0, 5]))
    found = tally(both, slice(1, 4))
    assert (found.skipped, found.kept) == ({"film": 3.0}, {})
    assert tally(both, slice(0, 6)).totals == (4.0, 2.0)
    assert (found + tally(both, slice(4, 6))).skipped == {"film": 3.0, "power cut": 1.0}


def test_the_first_day_of_a_cause_is_the_first_from_the_skip_on():
    both = (_table(film=[3, 4], power_cut=[0]), _table())
    assert firsts(both, 2, date(2021, 1, 1)) == {"film": date(2021, 1, 4)}


def test_small_parts_are_told_only_of_the_cause_with_most():
    found = Tally({"film": 9.0, "clogged": 1.0}, {"film": 2.0})
    said = origins(found, given, 1.0, {"film": date(2021, 1, 4), "clogged": date(2021, 1, 5)})
    assert said == "9 from film on the sleeve, the first on 4 January 2021 (kept: 2)"
    assert origins(Tally({"clogged": 1.0}, {}), given, 1.0) == "1 from clogged cartridges"
    more = origins(Tally({"film": 2.0}, {"film": 5.0}), given, 0.0, {"film": date(2021, 1, 4)})
    assert more == "2 from film on the sleeve (kept: 5)"  # the kept run had more: no first day of the skip
    assert whole(NOTHING, "days: {}", given, 0.0) == "days: 0 (kept: 0)"


# --- the calendar ---
def _history(days, start=date(2021, 1, 20)):
    return SimpleNamespace(start=start, n_days=days)


@pytest.mark.parametrize(
    ("from_day", "months"),
    [
        (0, [(1, range(12)), (2, range(12, 40)), (3, range(40, 45))]),
        (11, [(1, range(11, 12)), (2, range(12, 40)), (3, range(40, 45))]),
        (12, [(2, range(12, 40)), (3, range(40, 45))]),
        (30, [(2, range(30, 40)), (3, range(40, 45))]),
    ],
)
def test_months_are_those_of_the_calendar_from_that_of_the_skip_on(from_day, months):
    """From 20 January: twelve days of it, 28 of February, five of March."""
    assert _calendar(_history(45), from_day) == months


def test_a_month_of_another_year_is_another_month():
    assert [number for number, _ in _calendar(_history(400), 0)] == list(range(1, 15))


def test_signs_are_kept_with_their_dates_and_months_beside_them():
    days = pd.DataFrame({"date": pd.date_range("2021-01-20", periods=60)})
    signs = (
        Sign("reading", "", 0, 0.8, 0.9, "the display"),
        Sign("drop", "carbon", 31, 7e4, 2e4, "gauges", "film"),
    )
    answer = SimpleNamespace(
        skipped=days,
        story=SimpleNamespace(signs=signs, months=(AS_KEPT,)),
        rows=pd.DataFrame({"cost": [1.0]}),
    )
    files = SkipAnswer.files(answer)
    assert {"signs.csv", "months.csv", "rows.csv"} <= set(files)
    table = pd.read_csv(io.BytesIO(files["signs.csv"]))
    assert table["date"].tolist() == ["2021-01-20", "2021-02-20"]
    assert table["what"].tolist() == ["reading", "drop"] and table["kept"].tolist() == [0.9, 2e4]
    none = SkipAnswer.files(
        SimpleNamespace(**vars(answer) | {"story": SimpleNamespace(signs=(), months=(AS_KEPT,))})
    )
    assert none["signs.csv"].splitlines()[0].startswith(b"date,what,subject,day")
