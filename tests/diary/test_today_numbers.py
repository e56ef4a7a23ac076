"""What `today` works out of a picture: dates, next visit, what waiting costs; each by hand."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from sim.diary.outlook import HORIZON_DAYS, first_day, without_use
from sim.diary.paths import Paths
from sim.scenario.read.load import load
from sim.study.today.parts import PartToday, Range, When, band, dates, tasks_with
from sim.study.today.visit import next_visit
from sim.study.today.waiting import waiting
from sim.study.today.wishes import BINS, narrower
from sim.study.today.words import away_line, dose_words, line, odds, sentence, state_words, waiting_words

TODAY = date(2025, 5, 20)


@pytest.fixture(scope="module")
def house():
    return load("family_house")


def part(name="sediment", tasks=("change cartridge: sediment",), by=None, **more):
    when = None if by is None else When(by, by, by, by)
    state = Range(0.2, 0.25, 0.3)
    return PartToday(name, "used", state, (), tasks, when, 3, 100.0, **more)


# --- waiting ---
def _picture(days, used, light, target_days):
    stages = [SimpleNamespace(days=np.array(days), used_share=np.array(used))]
    uv = SimpleNamespace(light=np.array(light), target_days=np.array(target_days))
    return SimpleNamespace(stages=stages, uv=uv)


def test_what_a_wait_costs(house):
    """Two draws: the first under alarm from day 20 on, its dose from day 61, its cartridge over on day 30."""
    light = np.full((2, 200), 0.9)
    light[0, 20:] = 0.5
    seen = _picture([30.0, 90.0], [0.5, 0.5], light, [61.0, 500.0])
    site = SimpleNamespace(
        uv=SimpleNamespace(alarm=0.6), stages=[SimpleNamespace(price=40.0, housings=2)]
    )  # fmt: skip
    month, two, three = waiting(site, seen)
    assert [one.days for one in (month, two, three)] == [30, 61, 91]
    assert month.alarm_h == pytest.approx(11 / 2 * 24.0)  # days 20 to 30, of one draw in two
    assert two.alarm_h == pytest.approx(42 / 2 * 24.0)
    assert [one.below_target_share for one in (month, two, three)] == [0.0, 0.5, 0.5]
    assert [one.clogged_share for one in (month, two, three)] == [0.5, 0.5, 1.0]
    # The first cartridge has half its life left, for 60 days: a month gives a quarter of each of two, two
    # months the half that is left of both.
    assert [one.saved for one in (month, two, three)] == pytest.approx([20.0, 40.0, 40.0])


@pytest.mark.parametrize(("days", "used"), [(0.0, 0.4), (50.0, 1.0), (50.0, 1.3)])
def test_a_part_that_is_over_saves_nothing(days, used):
    seen = _picture([days], [used], np.full((1, 100), 0.9), [500.0])
    site = SimpleNamespace(
        uv=SimpleNamespace(alarm=0.6), stages=[SimpleNamespace(price=40.0, housings=1)]
    )  # fmt: skip
    assert [one.saved for one in waiting(site, seen)] == [0.0, 0.0, 0.0]


def test_the_middle_wait_is_told_and_no_chance_is_called_none():
    waits = [SimpleNamespace(days=days, alarm_h=12.0, below_target_share=share, clogged_share=1.0 - share,
                             saved=7.5) for days, share in ((30, 0.5), (61, 0.001), (91, 0.5))]  # fmt: skip
    assert waiting_words(waits, "USD", begun=True) == (
        "If nobody does anything for 61 days: 12 hours under alarm, under 1 % chance of a dose below target "
        "at rated flow, over 99 % chance that a cartridge passes its limit; cartridges to the worth of "
        "7.5 USD are used longer."
    )
    assert "once something is read or noted" in waiting_words(waits, "USD", begun=False)


# --- days and dates ---
def test_the_first_day_on_which_something_holds():
    passed = np.zeros((4, HORIZON_DAYS + 1), dtype=bool)
    passed[0, 0] = passed[1, [5, 9]] = passed[2, HORIZON_DAYS] = True
    assert first_day(passed).tolist() == [0.0, 5.0, HORIZON_DAYS, HORIZON_DAYS]


def test_dates_of_an_event_and_none_beyond_the_horizon():
    found = dates(np.linspace(0.0, 100.0, 11), TODAY)
    assert found == When(date(2025, 5, 30), date(2025, 7, 9), date(2025, 5, 30), date(2025, 8, 18))
    late = dates(np.array([10.0, HORIZON_DAYS, HORIZON_DAYS, HORIZON_DAYS]), TODAY)
    assert late.likely is None and late.last is None


def test_a_band_is_that_of_eight_in_ten():
    found = band(np.linspace(0.0, 1.0, 101))
    assert (found.low, found.middle, found.high) == pytest.approx((0.1, 0.5, 0.9))


def test_nobody_draws_in_an_absence_while_rain_and_lamp_go_on():
    """Ten units a day of everything; days 3 and 4 are spent elsewhere."""
    sums = np.broadcast_to(10.0 * np.arange(8.0)[None, :, None], (1, 8, 6)).copy()
    paths = Paths(TODAY, sums, np.zeros((1, 7, 5)), np.zeros(1), "")
    found = without_use(paths, 3, 5).sums[0]
    house = [0.0, 10.0, 20.0, 30.0, 30.0, 30.0, 40.0, 50.0]
    for column in (0, 1, 4, 5):  # through the train, into the house, pump hours, caught by the first stage
        assert found[:, column].tolist() == house
    assert found[:, 2].tolist() == found[:, 3].tolist() == [10.0 * day for day in range(8)]
    assert sums[0, -1, 0] == 70.0  # the paths themselves are kept
    assert np.array_equal(without_use(paths, 20, 30).sums, sums)  # after the last day


# --- next visit ---
def test_the_next_visit_takes_what_falls_due_within_the_days_given(house):
    parts = [
        part(by=date(2025, 6, 1)),
        part("lamp", ("replace lamp",), date(2025, 7, 1)),
        part("UV", ("wipe sleeve",), date(2025, 7, 2)),
        part("carbon", (), date(2025, 5, 1)),
    ]
    found = next_visit(house, parts, TODAY, 30)
    assert found is not None and found.on == date(2025, 6, 1)  # what nobody can do brings nobody
    assert set(found.tasks) == {"change cartridge: sediment", "replace lamp"}
    orders = [house.task(label.partition(":")[0]).order for label in found.tasks]
    assert orders == sorted(orders)
    assert len(found.buy) == 2 and any("lamp" in one for one in found.buy)
    assert set(next_visit(house, parts, TODAY, 31).tasks) >= {"wipe sleeve"}


def test_what_is_overdue_is_done_today_and_nothing_due_is_no_visit(house):
    late = part(by=date(2025, 1, 1))
    assert next_visit(house, [late], TODAY, 30).on == TODAY
    assert next_visit(house, [part(), part("UV", ("wipe sleeve",))], TODAY, 30) is None


def test_of_tasks_that_do_the_same_the_cheapest_is_named():
    tasks = [
        SimpleNamespace(name="dear", effects=("new lamp",), part_price=60.0, minutes=5.0),
        SimpleNamespace(name="slow", effects=("new lamp",), part_price=50.0, minutes=30.0),
        SimpleNamespace(name="quick", effects=("new lamp", "wiped sleeve"), part_price=50.0, minutes=20.0),
        SimpleNamespace(name="cloth", effects=("wiped sleeve",), part_price=0.0, minutes=20.0),
    ]
    site = SimpleNamespace(tasks=tasks)
    assert tasks_with(site, ("new lamp",), "") == ("quick",)
    assert tasks_with(site, ("new lamp", "wiped sleeve"), "") == ("quick", "cloth")
    assert tasks_with(site, ("new lamp",), "left") == ("quick: left",)
    assert tasks_with(site, ("new cartridge",), "left") == ()


# --- wishes ---
@pytest.mark.parametrize("r", [0.6, 0.9])
def test_a_reading_narrows_a_normal_quantity_by_its_correlation(r):
    """Of two normal numbers with correlation r, one known leaves sqrt(1 - r2) of the width of the other.

    That they fall in groups, not single numbers, leaves a little more; the limits allow for that.
    """
    rng = np.random.default_rng(77_001)
    read, other = rng.standard_normal((2, 2000 * BINS))
    found = narrower(read, r * read + np.sqrt(1.0 - r * r) * other)
    assert 0.9 * (1.0 - np.sqrt(1.0 - r * r)) < found < 1.02 * (1.0 - np.sqrt(1.0 - r * r))


def test_what_is_known_cannot_become_narrower():
    assert narrower(np.arange(100.0), np.full(100, 7.0)) == 0.0


# --- words ---
def test_a_range_that_the_digits_shown_do_not_tell_is_left_out():
    lamp = part(by=date(2025, 8, 1))
    lamp = replace(lamp, state=Range(0.9561, 0.9562, 0.9563))
    assert state_words(lamp, "us") == "96 % used"
    assert state_words(replace(lamp, state=Range(0.95, 0.9562, 0.9563)), "us") == "96 % used (95 % to 96 %)"


def test_a_part_says_its_state_and_by_when():
    one = part(by=date(2025, 8, 1))
    assert state_words(one, "us") == "25 % used (20 % to 30 %)"
    assert line(one, TODAY, "us") == (
        "Sediment: 25 % used (20 % to 30 %). Change cartridge: sediment by 1 August 2025 (1 in 10 that it is "
        "late by then); its limit comes about 1 August 2025 (1 August 2025 to 1 August 2025)."
    )
    late = "Change cartridge: sediment now (9 in 10 or more that it is late already)."
    assert line(part(by=TODAY), TODAY, "us").endswith(late)  # all of its dates are today
    unknown = line(part(by=TODAY), TODAY, "us", begun=False)
    assert "not known yet by when; the limit comes about 20 May 2025" in unknown


@pytest.mark.parametrize(
    ("likely", "last", "share"),
    [(TODAY, TODAY, "9 in 10"), (TODAY, date(2025, 6, 1), "1 in 2"), (TODAY, None, "1 in 2"),
     (date(2025, 6, 1), date(2025, 7, 1), "1 in 10"), (None, None, "1 in 10")],
)  # fmt: skip
def test_what_is_due_now_says_how_likely_it_is_to_be_late_already(likely, last, share):
    when = When(TODAY, likely, TODAY, last)
    assert odds(when, TODAY) == f"{share} or more that it is late already"
    assert odds(when, date(2025, 5, 19)) == "1 in 10 that it is late by then"
    said = line(replace(part(), when=when), TODAY, "us")
    assert ("its limit comes" in said) == (likely is None or likely > TODAY)


def test_what_lies_beyond_the_horizon_gets_no_date():
    far = PartToday("lamp", "used", Range(0.0, 0.1, 0.2), (), ("replace lamp",), When(None, None, None, None),
                    1, 9.0)  # fmt: skip
    assert line(far, TODAY, "us").endswith("Replace lamp: more than two years ahead.")
    assert odds(far.when, TODAY) == "under 1 in 10 that it is due before"
    when = When(date(2026, 1, 5), None, date(2026, 1, 5), None)
    some = PartToday("lamp", "used", Range(0.0, 0.1, 0.2), (), ("replace lamp",), when, 1, 9.0)
    assert line(some, TODAY, "us").endswith(
        "its limit comes later than two years (5 January 2026 to more than two years)."
    )


def test_readings_that_do_not_fit_get_no_date():
    said = line(part(by=TODAY, fits=False), TODAY, "us")
    assert (
        said
        == "Sediment: 25 % used (20 % to 30 %). These readings do not fit this model, so no date is told."
    )
    assert line(part(), TODAY, "us") == "Sediment: 25 % used (20 % to 30 %)."


def test_pressures_and_doses_are_told_in_the_units_asked_for():
    charge = PartToday("precharge", "pressure", Range(137_895.0, 172_369.0, 206_843.0), (), (), None, 1, 9.0)
    assert state_words(charge, "us") == "25.0 psi (20.0 psi to 30.0 psi)"
    assert state_words(charge, "si") == "172 kPa (138 kPa to 207 kPa)"
    doses = (Range(390.0, 400.0, 410.0), Range(290.0, 300.0, 310.0))
    uv = PartToday("UV", "reading", Range(0.7, 0.8, 0.9), doses, (), None, 1, 9.0)
    rated, peak = dose_words(uv, "us")
    assert rated.startswith("dose 40") and rated.endswith("at rated flow") and peak.startswith("30")
    assert dose_words(part(), "us") == []


def test_an_absence_is_prepared_by_what_falls_due_in_it():
    parts = [part(by=date(2025, 6, 30)), part("lamp", ("replace lamp",), date(2025, 7, 1)),
             part("carbon", ("change cartridge: carbon",))]  # fmt: skip
    said = away_line(date(2025, 6, 1), date(2025, 6, 30), parts)
    assert said.startswith(
        "Away 1 June 2025 to 30 June 2025. Before: change cartridge: sediment; read the gauges."
    )
    assert "lamp" not in said and "carbon" not in said
    assert "Before: read the gauges." in away_line(date(2025, 6, 1), date(2025, 6, 30), parts[1:])


def test_the_house_in_one_sentence():
    site, known = SimpleNamespace(name="Hill"), SimpleNamespace(readings=(1, 2, 3), begun=True)
    visit = SimpleNamespace(on=TODAY, tasks=("replace lamp", "wipe sleeve"))
    start = "Hill on 20 May 2025, from 3 readings: "
    assert sentence(site, [part()], visit, known, TODAY) == f"{start}replace lamp and wipe sleeve today."
    visit.on = date(2025, 6, 2)
    assert sentence(site, [part()], visit, known, TODAY).endswith("wipe sleeve by 2 June 2025.")
    assert sentence(site, [part()], None, known, TODAY) == f"{start}nothing falls due within two years."
    unfit = [part(fits=False), part("UV", fits=False), part("carbon")]
    said = sentence(site, unfit, visit, known, TODAY)
    assert said == f"{start}the readings of sediment and UV do not fit this model of the house; see below."
    known.readings = ()
    assert "without a reading, so it could be any house like it: " in sentence(
        site, [part()], visit, known, TODAY
    )
    known.begun = False
    assert "nothing was read or noted yet" in sentence(site, [part()], visit, known, TODAY)
