"""The pre-drawn trace of draws: its form, its bounds and who changes what."""

from dataclasses import replace

import numpy as np
import pytest

from sim.demand import days, sessions, trace
from sim.demand.end_use import EndUse
from sim.demand.profile import HOURLY_SHARES, profile
from sim.errors import InputError

FLAT = profile("flat")
TOILET = EndUse("toilet", "volume", 5.0, 0.01, 0.0, 2e-4, 4e5, 0.1, 0.2, 1.0, 0.0, 600.0, FLAT, FLAT)
SHOWER = EndUse("shower", "time", 0.7, 0.0, 480.0, 1.3e-4, 5e5, 0.1, 0.3, 1.0, 0.0, 900.0, FLAT, FLAT)
WASHER = EndUse("washer", "volume", 0.3, 0.12, 0.0, 2.2e-4, 4e5, 0.0, 0.0, 4.0, 900.0, 3600.0, FLAT, FLAT)
USES = (TOILET, SHOWER, WASHER)


HABIT = sessions.SessionHabit(6.0, 420.0, 1.5, profile("indoor"))


def draw(uses=USES, n_days=60, people=2.0, seed=1, weekday=0, found=None):
    generators = [np.random.default_rng((seed, place)) for place in range(len(uses))]
    return trace.generate(uses, np.full(n_days, people), np.ones(n_days), weekday, generators, found)


def in_sessions(people, seed=5, weekday=0, habit=HABIT):
    weekend = days.weekend(people.size, weekday)
    return sessions.sessions_of(people, weekend, habit, np.random.default_rng(seed))


HOUSE = in_sessions(np.full(60, 2.0))


def assert_same(one, other):
    for field in ("start_s", "use", "coefficient", "duration_s", "volume_m3", "patience_s"):
        np.testing.assert_array_equal(getattr(one, field), getattr(other, field))


@pytest.mark.parametrize("found", [None, HOUSE])
def test_form_of_a_trace(found):
    got = draw(found=found)
    assert got.use.dtype == np.int16
    for field in ("start_s", "coefficient", "duration_s", "volume_m3", "patience_s"):
        assert getattr(got, field).dtype == np.float64
        assert getattr(got, field).shape == got.start_s.shape
    assert np.all(np.diff(got.start_s) >= 0.0)
    assert got.start_s[0] >= 0.0
    assert got.start_s[-1] < 60 * 86400.0
    assert set(got.use) == {0, 1, 2}


def test_each_draw_has_one_bound():
    got = draw()
    timed = got.use == 1
    np.testing.assert_array_equal(np.isinf(got.volume_m3), timed)
    np.testing.assert_array_equal(np.isinf(got.duration_s), ~timed)
    assert got.duration_s[timed].min() > 0.0
    assert got.volume_m3[~timed].min() > 0.0


def test_patience_and_coefficient_belong_to_the_use():
    got = draw()
    np.testing.assert_array_equal(got.patience_s, np.array([600.0, 900.0, 3600.0])[got.use])
    np.testing.assert_allclose(got.coefficient[got.use == 2], 2.2e-4 / np.sqrt(4e5), rtol=1e-14)


def test_same_seed_same_draws():
    assert_same(draw(), draw())
    assert not np.array_equal(draw().start_s, draw(seed=2).start_s)


@pytest.mark.parametrize("found", [None, HOUSE])
def test_changing_one_use_leaves_the_others(found):
    thirsty = draw((replace(TOILET, events_per_person_day=9.0), SHOWER, WASHER), found=found)
    usual = draw(found=found)
    assert np.sum(thirsty.use == 0) > np.sum(usual.use == 0)
    for number in (1, 2):
        np.testing.assert_array_equal(
            thirsty.start_s[thirsty.use == number], usual.start_s[usual.use == number]
        )
        np.testing.assert_array_equal(
            thirsty.volume_m3[thirsty.use == number], usual.volume_m3[usual.use == number]
        )


def test_nobody_draws_nothing():
    assert draw(people=0.0).start_s.size == 0
    assert draw(n_days=0).start_s.size == 0
    for nobody in (np.zeros(60), np.zeros(0)):
        found = in_sessions(nobody)
        assert found.day.size == 0
        assert draw(n_days=nobody.size, people=0.0, found=found).start_s.size == 0


def test_everybody_has_the_sessions_of_the_day():
    """6 a person and day: 2.5 people have 15; 2.55 have 15.3, so 15 on some days and 16 on the others."""
    assert set(np.bincount(in_sessions(np.full(200, 2.5)).day)) == {15}
    assert set(np.bincount(in_sessions(np.full(200, 2.55)).day)) == {15, 16}


def test_sessions_are_in_order_and_know_their_hour():
    found = in_sessions(np.full(14, 3.0), weekday=4)
    start_s = found.hour_s + found.within_s
    assert np.all(np.diff(start_s) >= 0.0)
    assert 0.0 <= found.within_s.min() <= found.within_s.max() <= 3600.0
    np.testing.assert_array_equal(found.day, start_s // 86400.0)
    np.testing.assert_array_equal(found.slot % 24, start_s % 86400.0 // 3600.0)
    np.testing.assert_array_equal(found.slot >= 24, (4 + found.day) % 7 >= 5)


def test_a_session_without_spread_begins_its_draws_at_once():
    """All draws of a session a minute after its beginning: those past the hour are at its beginning."""
    found = in_sessions(np.full(60, 2.0), habit=sessions.SessionHabit(6.0, 60.0, 0.0, profile("indoor")))
    got = draw((TOILET,), found=found)
    allowed = found.hour_s + (found.within_s + 60.0) % 3600.0
    nearest = np.abs(got.start_s[:, None] - allowed).min(axis=1)
    assert got.start_s.size > 400
    assert nearest.max() < 1e-6


@pytest.mark.parametrize("bundled", [False, True])
def test_away_days_are_empty(bundled):
    people = np.where(np.arange(60) % 10 < 3, 0.0, 3.0)
    found = in_sessions(people) if bundled else None
    got = trace.generate((TOILET,), people, np.ones(60), 0, [np.random.default_rng(1)], found)
    assert set((got.start_s // 86400.0).astype(int)) == set(np.flatnonzero(people).tolist())


def test_fills_are_spaced_and_equal():
    got = draw((WASHER,), n_days=200)
    np.testing.assert_allclose(got.volume_m3, 0.03, rtol=1e-14)
    one = draw((replace(WASHER, events_per_person_day=0.02),), n_days=60)
    assert one.start_s.size in range(4, 40, 4)
    np.testing.assert_allclose(np.diff(one.start_s)[:3], 900.0, rtol=1e-9)


def test_fills_of_each_use_add_up_to_its_volume():
    got = draw((replace(WASHER, events_per_person_day=0.02, fills_per_event=4.4),), n_days=3000)
    use_of_fill = np.concatenate([[0], np.cumsum(np.diff(got.start_s) > 1000.0)])  # uses lie days apart
    fills = np.bincount(use_of_fill)
    alone = (fills == 4) | (fills == 5)  # two uses that overlap look like one
    assert alone.mean() > 0.9
    assert set(fills[alone]) == {4, 5}
    np.testing.assert_allclose(np.bincount(use_of_fill, got.volume_m3)[alone], 0.12, rtol=1e-12)


def test_every_fill_of_a_use_follows_the_one_before_after_the_gap():
    six = np.eye(24)[6]
    rare = replace(WASHER, events_per_person_day=0.02, weekday_profile=six, weekend_profile=six)
    starts = draw((rare,), n_days=1000).start_s.reshape(-1, 4)
    assert set(starts[:, 0] % 86400.0 // 3600.0) == {6.0}
    apart = starts[1:, 0] - starts[:-1, 3] > 4000.0  # no two uses overlap with this seed
    assert starts.shape[0] > 20
    assert apart.all()
    np.testing.assert_allclose(np.diff(starts), 900.0, rtol=1e-9)


def test_two_fills_share_a_use():
    got = draw((replace(WASHER, fills_per_event=2.0, events_per_person_day=0.02),), n_days=1000)
    np.testing.assert_allclose(got.volume_m3, 0.06, rtol=1e-14)
    np.testing.assert_allclose(np.diff(got.start_s)[::2], 900.0, rtol=1e-9)


def test_a_profile_counts_by_its_shares_and_not_by_its_sum():
    thrice = replace(TOILET, weekday_profile=3.0 * FLAT, weekend_profile=3.0 * FLAT)
    got, usual = draw((thrice,)), draw((TOILET,))
    np.testing.assert_allclose(got.start_s, usual.start_s, rtol=1e-12)


def test_fills_past_the_last_day_are_cut():
    late = np.eye(24)[23]
    item = replace(WASHER, events_per_person_day=20.0, weekday_profile=late, weekend_profile=late)
    got = draw((item,), n_days=1, people=1.0)
    assert got.start_s.size > 0
    assert got.start_s.min() >= 23 * 3600.0
    assert got.start_s.max() < 86400.0
    whole = draw((item,), n_days=2, people=1.0)
    assert np.any((whole.start_s > 86400.0) & (whole.start_s < 86400.0 + 2700.0))


@pytest.mark.parametrize("bundled", [False, True])
@pytest.mark.parametrize("monday", range(7))
def test_weekend_days_follow_the_first_weekday(monday, bundled):
    item = replace(TOILET, weekday_profile=np.eye(24)[6], weekend_profile=np.eye(24)[10])
    found = in_sessions(np.full(14, 4.0), weekday=monday) if bundled else None
    got = draw((item,), n_days=14, people=4.0, weekday=monday, found=found)
    assert got.start_s.size > 0
    day, hour = (got.start_s // 86400.0).astype(int), (got.start_s % 86400.0 // 3600.0).astype(int)
    np.testing.assert_array_equal(hour, np.where((monday + day) % 7 >= 5, 10, 6))


@pytest.mark.parametrize("bundled", [False, True])
def test_an_hour_without_share_is_never_drawn(bundled):
    day = profile("daytime")
    found = in_sessions(np.full(300, 2.0)) if bundled else None
    got = draw((replace(TOILET, weekday_profile=day, weekend_profile=day),), n_days=300, found=found)
    hour = got.start_s % 86400.0 / 3600.0
    assert hour.min() >= 7.0
    assert hour.max() <= 21.0


def test_a_generator_for_each_use_is_wanted():
    with pytest.raises(ValueError, match="argument"):
        trace.generate(USES, np.ones(3), np.ones(3), 0, [np.random.default_rng(1)])


def test_profiles_sum_to_one_and_are_named():
    assert {"indoor", "shower", "sink", "bath", "clothes washer", "dishwasher", "flat", "daytime"} <= set(
        HOURLY_SHARES
    )
    for name in HOURLY_SHARES:
        assert profile(name).shape == (24,)
        assert profile(name).sum() == pytest.approx(1.0, rel=1e-14)
    with pytest.raises(InputError, match="'swimming'"):
        profile("swimming")


NAN = np.nan


def test_record_in_any_order():
    got = trace.from_record(
        np.array([300.0, 100.0, 100.0]),
        np.array([0, 1, 2]),
        np.array([2e-4, 1e-4, 3e-4]),
        1e4,
        np.array([60.0, NAN, 30.0]),
        np.array([0.5, 0.02, NAN]),
        600.0,
    )
    np.testing.assert_array_equal(got.start_s, [100.0, 100.0, 300.0])
    np.testing.assert_array_equal(got.use, [1, 2, 0])
    np.testing.assert_array_equal(got.duration_s, [np.inf, 30.0, 60.0])
    np.testing.assert_array_equal(got.volume_m3, [0.02, np.inf, np.inf])
    np.testing.assert_allclose(got.coefficient, [1e-6, 3e-6, 2e-6], rtol=1e-14)
    np.testing.assert_array_equal(got.patience_s, [600.0] * 3)
    assert got.use.dtype == np.int16


@pytest.mark.parametrize(
    ("flow", "duration", "volume"),
    [(0.0, 60.0, NAN), (NAN, 60.0, NAN), (1e-4, NAN, NAN), (1e-4, NAN, 0.0), (1e-4, 0.0, NAN)],
)
def test_record_that_cannot_be_drawn_is_refused(flow, duration, volume):
    good = 1e-4, 60.0, NAN
    columns = [np.array(pair) for pair in zip(good, (flow, duration, volume), strict=True)]
    with pytest.raises(InputError, match="metered draw 2"):
        trace.from_record(np.arange(2.0), np.zeros(2, int), columns[0], 1e4, columns[1], columns[2], 600.0)


def test_the_first_bad_draw_of_a_record_is_named():
    three = np.arange(3.0), np.zeros(3, int)
    with pytest.raises(InputError, match="metered draw 2"):
        trace.from_record(*three, np.array([1.0, 0.0, 0.0]), 1e4, np.full(3, 60.0), np.full(3, NAN), 600.0)


def test_half_a_second_is_a_duration():
    one = np.array([1e-4])
    got = trace.from_record(np.zeros(1), np.zeros(1, int), one, 1e4, np.array([0.5]), np.array([NAN]), 600.0)
    assert got.duration_s.tolist() == [0.5]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("bound", "weight"),
        ("flow_m3_s", 0.0),
        ("reference_pa", -1.0),
        ("patience_s", 0.0),
        ("volume_m3", 0.0),
        ("volume_m3", NAN),
        ("events_per_person_day", -0.1),
        ("flow_cv", -0.1),
        ("size_cv", -0.1),
        ("day_cv", -0.1),
        ("fills_per_event", 0.5),
        ("fill_gap_s", -1.0),
        ("weekday_profile", np.ones(23)),
        ("weekend_profile", np.zeros(24)),
        ("weekend_profile", -np.ones(24)),
        ("weekday_profile", np.array([-0.5, *np.ones(23)])),
    ],
)
def test_end_use_that_cannot_be_is_refused(field, value):
    with pytest.raises(InputError, match="toilet") as caught:
        replace(TOILET, **{field: value})
    assert "\n" not in str(caught.value)


def test_a_timed_use_needs_a_duration_and_no_volume():
    assert SHOWER.occupied_s == 480.0
    assert TOILET.occupied_s == pytest.approx(50.0, rel=1e-14)
    assert TOILET.coefficient == pytest.approx(2e-4 / np.sqrt(4e5), rel=1e-14)
    with pytest.raises(InputError, match="duration_s"):
        replace(SHOWER, duration_s=0.0)


def test_guests_add_and_away_beats_guests():
    rng = np.random.default_rng(1)
    assert set(days.presence(3000, 2.0, 0.0, 7.0, 30.0, 3.0, 1.5, rng)) == {2.0, 3.5}
    assert set(days.presence(3000, 2.0, 10.0, 7.0, 30.0, 3.0, 1.5, rng)) == {0.0, 2.0, 3.5}
    always_away = days.presence(300, 2.0, 3000.0, 7.0, 3000.0, 3.0, 1.5, rng)
    assert always_away.max() == 0.0


def test_the_days_of_nobody_have_no_factor():
    people = np.array([0.0, 2.0, 0.0])
    got = days.people_factors(people, 0.5, np.random.default_rng(1))
    assert got[[0, 2]].tolist() == [1.0, 1.0]
    assert got[1] not in (0.0, 1.0)


def test_a_day_that_is_kept_is_the_day_before():
    rng = np.random.default_rng(1)
    assert np.unique(days.day_factors(50, 0.3, rng, 1.0)).size == 1
    assert np.unique(days.day_factors(50, 0.3, rng)).size == 50


def test_no_days():
    rng = np.random.default_rng(1)
    assert days.presence(0, 2.0, 4.0, 7.0, 4.0, 3.0, 1.0, rng).size == 0
    assert days.day_factors(0, 0.3, rng).size == 0
