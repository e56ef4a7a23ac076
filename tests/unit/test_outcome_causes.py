"""Causes of a run, counted by hand: four days whose litres, alarm and dry seconds are put in."""

from types import SimpleNamespace

import pytest

from sim.outcome import causes
from sim.plant import cause

LEAST_M3 = 0.001
YEARS = 2.0


def run_of(*days):
    """A run of days; each maps (cause, measure) to what was booked."""
    booked = cause.new_causes(len(days))
    for at, day in enumerate(days):
        for (code, measure), value in day.items():
            booked[at, code, measure] = value
    goals = SimpleNamespace(below_target_volume_m3=LEAST_M3)
    return SimpleNamespace(causes=booked, scenario=SimpleNamespace(goals=goals))


CUT, LAMP, BYPASS, LATE = cause.POWER_CUT, cause.LAMP_DIED, cause.BYPASS_OPEN, cause.PUT_OFF
RUN = run_of(
    {(CUT, cause.LITRES): 0.004, (LAMP, cause.LITRES): 0.003, (LAMP, cause.ALARM): 0.5},
    {(CUT, cause.LITRES): 0.0006, (BYPASS, cause.LITRES): 0.0004},  # just what is accepted
    {(LAMP, cause.LITRES): 0.001, (BYPASS, cause.LITRES): 0.002, (LATE, cause.ALARM): 7200.0},
    {(LATE, cause.LITRES): 0.002, (CUT, cause.OFF): 1800.0, (LATE, cause.OFF): 5400.0},
)  # fmt: skip


def test_a_day_counts_above_what_is_accepted_and_for_the_cause_with_most():
    assert list(causes.cause_of_days(RUN)) == [CUT, cause.NONE, BYPASS, LATE]


def test_of_two_causes_with_as_many_litres_the_lower_has_the_day():
    even = run_of({(one, cause.LITRES): 0.002 for one in (LAMP, CUT, LATE)})
    assert list(causes.cause_of_days(even)) == [min(LAMP, CUT, LATE)]


def test_an_alarm_of_half_a_second_has_its_cause_and_none_has_none():
    assert list(causes.cause_of_alarms(RUN)) == [LAMP, cause.NONE, LATE, cause.NONE]


def test_two_causes_share_a_day_when_each_is_above_what_is_accepted():
    """On the first day both are; on the third one is just at it."""
    assert causes.days_of_two_causes(RUN) == 1
    assert causes.days_of_two_causes(run_of({(CUT, cause.LITRES): 0.002})) == 0


def test_a_year_has_each_day_once_and_hours_of_alarm_and_of_dry_taps():
    found = causes.by_cause(RUN, YEARS)
    assert {name: value for name, value in found.items() if value} == pytest.approx(
        {
            causes.column(causes.DAYS, CUT): 0.5,
            causes.column(causes.DAYS, BYPASS): 0.5,
            causes.column(causes.DAYS, LATE): 0.5,
            causes.column(causes.ALARM_H, LAMP): 0.25 / 3600.0,
            causes.column(causes.ALARM_H, LATE): 1.0,
            causes.column(causes.OFF_H, CUT): 0.25,
            causes.column(causes.OFF_H, LATE): 0.75,
        }
    )
    assert len(found) == 3 * len(cause.CAUSES)


def test_days_above_those_expected_are_told_a_year(monkeypatch):
    monkeypatch.setattr(causes, "excess_days", lambda history, draws: {CUT: 3.0, LAMP: -1.0})
    assert causes.excess_by_cause(RUN, None, YEARS) == {
        causes.column(causes.EXCESS_DAYS, CUT): 1.5,
        causes.column(causes.EXCESS_DAYS, LAMP): -0.5,
    }


def test_people_caused_what_they_missed_or_put_off():
    assert causes.people_days(RUN) == 2.0  # the bypass and the late task; not the cut
