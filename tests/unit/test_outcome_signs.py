"""What showed first beside another run: pairs of histories written by hand, one difference at a time."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from sim.outcome.brought import brought
from sim.outcome.signs import Sign, signs
from sim.plant import cause, state
from sim.scenario.care import Policy
from sim.twin.records import Event

DAYS, DAY_S = 200, 86400.0
AT = 100  # the day on which something shows
READING_SD, DROP_SD = 0.02, 5000.0
DUE = 10.0 * 6894.757293168361  # the rule of this house: above 10 psi (NIST SP 811: 1 lbf/in2)


@pytest.fixture
def house(tiny, blank_history):
    """A house on which nothing shows."""
    scenario = tiny(
        gauge={"uv_reading_sd": READING_SD, "reading_sd": f"{DROP_SD} Pa"},
        goals={"below_target_volume": "1 L"},
    )
    return blank_history(scenario, DAYS, uv_reading=np.full(DAYS, 0.9))


def course(value, usual=0.0, day=AT):
    """A quantity that stands at a value on one day."""
    found = np.full(DAYS, usual)
    found[day] = value
    return found


def with_days(history, column, values):
    days = history.days.copy()
    days[:, column] = values
    return replace(history, days=days)


def with_cause(history, code, measure, values):
    """A history with something booked to a cause, and to the day as a whole."""
    causes, days = history.causes.copy(), history.days.copy()
    column = {cause.LITRES: state.BELOW_TARGET, cause.ALARM: state.ALARM, cause.OFF: state.WATER_OFF}[measure]
    causes[:, code, measure] = values
    days[:, column] += values
    return replace(history, causes=causes, days=days)


def with_drop(history, values, stage=0):
    drops = np.zeros_like(history.drops_pa)
    drops[:, stage] = values
    return replace(history, drops_pa=drops)


def failing(history, *failures):
    return replace(
        history, events=tuple(Event(day * DAY_S, kind, subject) for day, kind, subject in failures)
    )


def skipping(scenario, task, stage=None):
    """A policy that would do a task by the calendar, and leaves it."""
    rule = {"task": task, "when": "calendar", "stage": stage}
    return Policy.model_validate({"name": "left", "rule": [rule], "skip": [{"task": task, "stage": stage}]})


def kinds(kept, skipped, from_day=0):
    return [(sign.what, sign.subject, sign.day) for sign in signs(kept, skipped, from_day)]


def test_like_runs_show_nothing(house):
    assert signs(house, house, 0) == ()


@pytest.mark.parametrize(("sds", "shows"), [(2.9, False), (3.1, True)])
def test_a_reading_shows_beyond_three_standard_deviations(house, sds, shows):
    low = 0.9 - sds * READING_SD
    found = signs(house, replace(house, uv_reading=course(low, 0.9)), 0)
    assert found == ((Sign("reading", "", AT, low, 0.9, "the UV monitor"),) if shows else ())


def test_three_standard_deviations_just_met_do_not_show(house):
    """Numbers that binary holds: 7/8 less 3/8 at a deviation of 1/8; 35 kPa over 20 kPa at 5 kPa."""
    gauge = house.scenario.gauge.model_copy(update={"uv_reading_sd": 0.125})
    plain = replace(house, scenario=house.scenario.model_copy(update={"gauge": gauge}))
    usual = replace(plain, uv_reading=np.full(DAYS, 0.875))
    assert signs(usual, replace(plain, uv_reading=course(0.5, 0.875)), 0) == ()
    assert signs(with_drop(house, 2e4), with_drop(house, course(35e3, 2e4)), 0) == ()


@pytest.mark.parametrize(("off", "shows"), [(-31, True), (-30, False), (0, False), (30, False), (31, True)])
def test_what_the_other_run_had_within_a_month_is_no_sign(house, off, shows):
    """A month either way is thirty days: of readings, drops, weak taps, starts, alarms, failures."""
    near = AT + off
    wanted = [AT] if shows else []

    def when(kept, skipped, what):
        return [day for name, _, day in kinds(kept, skipped) if name == what]

    low = [replace(house, uv_reading=course(0.5, 0.9, day)) for day in (near, AT)]
    assert when(*low, "reading") == wanted
    high = [with_drop(house, course(90e3, day=day)) for day in (near, AT)]
    assert when(*high, "drop") == wanted
    assert when(*high, "drop limit") == wanted
    weak = [with_days(house, state.LOW_PRESSURE, course(1e3, day=day)) for day in (near, AT)]
    assert when(*weak, "weak taps") == wanted
    busy = [with_days(house, state.STARTS, course(50.0, 5.0, day)) for day in (near, AT)]
    assert when(*busy, "pump starts") == wanted
    alarms = [with_cause(house, cause.FILM, cause.ALARM, course(600.0, day=day)) for day in (near, AT)]
    assert when(*alarms, "alarm") == wanted
    failed = [failing(house, (day, "failure", "pump")) for day in (near, AT)]
    assert when(*failed, "failure") == wanted


def test_an_alarm_is_told_with_the_readings_of_its_day(house):
    dim = replace(house, uv_reading=np.full(DAYS, 0.9 - READING_SD))
    spoke = with_cause(dim, cause.LAMP_AGE, cause.ALARM, course(60.0))
    assert signs(house, spoke, 0) == (
        Sign("alarm", "", AT, 0.9 - READING_SD, 0.9, "the UV monitor", "lamp age"),
    )


def test_an_alarm_is_told_from_the_day_it_came_on(house):
    """It came on beside an alarm of the other run, for the same cause, and went on for months after."""
    on = np.where(np.arange(DAYS) >= AT, 600.0, 0.0)
    kept = with_cause(house, cause.FILM, cause.ALARM, course(600.0, day=AT + 2))
    assert kinds(kept, with_cause(house, cause.FILM, cause.ALARM, on)) == [("alarm", "", AT)]
    lower = replace(house, uv_reading=np.where(on > 0.0, 0.5, 0.9))
    assert kinds(replace(house, uv_reading=course(0.5, 0.9, AT - 1)), lower) == [("reading", "", AT)]


def test_a_film_that_stands_because_someone_waits_is_a_film(house):
    film = with_cause(house, cause.FILM, cause.ALARM, course(60.0))
    late = with_cause(house, cause.PUT_OFF, cause.ALARM, course(60.0, day=AT + 1))
    assert signs(film, late, 0) == ()
    assert kinds(house, late) == [("alarm", "", AT + 1)]
    assert kinds(late, film) == []


def test_what_the_skip_cannot_bring_is_no_sign(house):
    """Skipping a wipe brings film, not lamps that die, a unit left unplugged, a pump or a clogged stage."""
    can = brought(house.scenario, skipping(house.scenario, "wipe sleeve"))
    low = with_drop(failing(house, (50, "failure", "lamp"), (60, "failure", "pump")), course(90e3))
    low = with_days(low, state.STARTS, course(50.0, 5.0))
    for code in range(len(cause.CAUSES)):
        if code not in (cause.FILM, cause.PUT_OFF):
            for measure, amount in ((cause.LITRES, 0.5), (cause.ALARM, 600.0), (cause.OFF, 9e3)):
                low = with_cause(low, code, measure, course(amount, day=code))
    assert signs(house, low, 0, can) == ()
    assert len(signs(house, low, 0)) > 5
    filmed = with_cause(low, cause.FILM, cause.ALARM, course(600.0, day=120))
    assert [(sign.what, sign.day) for sign in signs(house, filmed, 0, can)] == [("alarm", 120)]


@pytest.mark.parametrize(("sds", "shows"), [(2.9, False), (3.1, True)])
def test_a_drop_shows_beyond_three_standard_deviations(house, sds, shows):
    higher = 2e4 + sds * DROP_SD
    name = house.stage_names[1]
    found = signs(with_drop(house, 2e4, 1), with_drop(house, course(higher, 2e4), 1), 0)
    assert found == ((Sign("drop", name, AT, higher, 2e4, "the gauges"),) if shows else ())


def test_a_drop_limit_is_passed_and_not_met(house):
    nearly = np.full(DAYS, DUE)
    assert kinds(with_drop(house, nearly), with_drop(house, nearly)) == []
    passed = signs(with_drop(house, nearly), with_drop(house, course(DUE + 1.0, DUE)), 0)
    assert passed == (Sign("drop limit", house.stage_names[0], AT, DUE + 1.0, DUE, "the gauges"),)


@pytest.mark.parametrize(
    ("column", "what", "limit"),
    [(state.LOW_PRESSURE, "weak taps", 600.0), (state.WATER_OFF, "water off", 3600.0)],
)
def test_taps_speak_beyond_ten_weak_minutes_or_an_hour_without_water(house, column, what, limit):

    def run(values):
        if column == state.WATER_OFF:
            return with_cause(house, cause.CLOGGED, cause.OFF, values)
        return with_days(house, column, values)

    at_limit, beyond = run(np.full(DAYS, limit)), run(course(limit + 0.1, limit))
    assert signs(house, at_limit, 0) == ()
    why = "clogged" if column == state.WATER_OFF else ""
    assert signs(at_limit, beyond, 0) == (Sign(what, "", AT, limit + 0.1, limit, "the taps", why),)


@pytest.mark.parametrize(
    ("usual", "busy", "shows"),
    [
        (8.0, 16.0, True),  # twice as often is heard
        (8.0, 15.9, False),
        (5.0, 10.0, False),  # ten a day are not many
        (5.0, 11.0, True),
        (0.0, 11.0, True),
        (0.2, 10.0, False),
    ],
)
def test_a_pump_is_heard_that_starts_twice_as_often(house, usual, busy, shows):
    runs = (with_days(house, state.STARTS, values) for values in (usual, course(busy, usual)))
    assert signs(*runs, 0) == ((Sign("pump starts", "", AT, busy, usual, "the pump"),) if shows else ())


def test_a_day_below_the_target_is_told_with_the_litres_of_its_cause(house):
    low = with_cause(house, cause.FILM, cause.LITRES, course(0.0011))
    assert signs(house, low, 0) == (Sign("below target", "", AT, 0.0011, 0.0, "", "film"),)
    assert signs(low, low, 0) == ()
    both = with_cause(low, cause.WATER, cause.LITRES, course(0.0005))
    assert signs(house, both, 0) == (Sign("below target", "", AT, 0.0011, 0.0, "", "film"),)
    a_day_before = with_cause(house, cause.FILM, cause.LITRES, course(0.5, day=AT - 1))
    assert kinds(a_day_before, low) == []
    other = with_cause(house, cause.POWER_CUT, cause.LITRES, course(0.5))
    assert kinds(other, low) == [("below target", "", AT)]


def test_failures_are_told_once_for_each_part_and_by_its_name(house):
    skipped = failing(
        house,
        (50, "failure", "lamp"),
        (60.5, "failure", "pump"),
        (61, "task", "wipe"),
        (90, "failure", "pump"),
    )
    assert signs(house, skipped, 0) == (
        Sign("failure", "lamp", 50, 1.0, 0.0, ""),
        Sign("failure", "pump", 60, 1.0, 0.0, ""),
    )
    assert kinds(failing(house, (50, "failure", "pump"), (60, "task", "lamp")), skipped) == [
        ("failure", "lamp", 50),
        ("failure", "pump", 90),
    ]
    assert kinds(failing(house, (50, "task", "lamp"), (60, "failure", "pump")), skipped)[0][1] == "lamp"


def test_nothing_is_looked_for_before_the_skip(house):
    early = replace(house, uv_reading=np.where(np.isin(np.arange(DAYS), (20, 40, 41)), 0.5, 0.9))
    early = failing(early, (20, "failure", "pump"), (40, "failure", "lamp"))
    assert kinds(house, early, 40) == [("failure", "lamp", 40), ("reading", "", 40)]
    assert kinds(house, early, 41) == [("reading", "", 41)]
    assert kinds(house, early, 42) == []


def test_signs_stand_in_order_of_time(house):
    many = with_drop(replace(house, uv_reading=course(0.5, 0.9, 120)), course(90e3, day=110))
    many = with_cause(many, cause.CLOGGED, cause.OFF, course(9e3, day=130))
    name = house.stage_names[0]
    assert kinds(house, many) == [
        ("drop", name, 110), ("drop limit", name, 110), ("reading", "", 120), ("water off", "", 130),
    ]  # fmt: skip


def test_a_sign_knows_its_date():
    assert Sign("alarm", "", 31, 0.0, 0.0, "").on(date(2021, 1, 1)) == date(2021, 2, 1)
