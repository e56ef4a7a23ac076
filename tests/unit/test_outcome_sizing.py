"""What sizes are judged by: flows together, worked by hand and held against a slow sweep."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from sim.constants import DAY_S
from sim.outcome.drawn import drawn as gone_through
from sim.outcome.drawn import together
from sim.outcome.sizing import sizing as figures
from sim.plant import draws
from sim.twin.records import Event


def sizing(history):
    return figures(history, gone_through(history))


def greatest(rows, function=together):
    """Greatest flow of all together during each draw: rows of start_s, seconds, flow."""
    records = drawn(*((start, seconds, seconds * flow, 1e4, 0) for start, seconds, flow in rows))
    found = np.zeros(len(rows))
    records = records if function is together else records.view(np.recarray)
    assert function(records, np.empty(len(rows), np.int64), found) == len(rows)
    return found


def test_three_draws_by_hand():
    rows = [(0.0, 15.0, 1.0), (10.0, 10.0, 2.0), (20.0, 5.0, 3.0)]  # the second ends as the third begins
    assert greatest(rows) == pytest.approx([3.0, 3.0, 3.0])
    np.testing.assert_array_equal(greatest(rows), greatest(rows, together.py_func))


@given(
    some.lists(
        some.tuples(some.integers(0, 50), some.integers(1, 20), some.integers(1, 9)), min_size=1, max_size=25
    )
)
def test_flows_together_are_those_of_a_sweep(rows):
    rows = sorted(rows)
    start, seconds, flow = (np.array(column, dtype=float) for column in zip(*rows, strict=True))
    found = greatest(rows)
    for at, (begin, length, _) in enumerate(rows):
        half_seconds = np.arange(begin, begin + length) + 0.5
        slow = max(float(flow[(start < t) & (t < start + seconds)].sum()) for t in half_seconds)
        assert found[at] == pytest.approx(slow)


def drawn(*rows):
    """Draws of a run: start_s, seconds, got_m3, tap_pa, unmet."""
    found = np.zeros(len(rows), draws.DRAW)
    for at, row in enumerate(rows):
        for name, value in zip(("start_s", "seconds", "got_m3", "tap_pa", "unmet"), row, strict=True):
            found[name][at] = value
    return found


@pytest.fixture
def house(tiny):
    return tiny(uv={"rated_flow": "1 L/s"})


def test_pressures_are_those_of_draws_that_had_water(house, blank_history):
    """Of eleven draws from 10 to 20 kPa the 5th percentile lies halfway between the first two, 10.5 kPa."""
    rows = [(100.0 * k, 10.0, 1e-3, 1e4 + 1e3 * k, 0) for k in range(11)]
    rows[0] = (*rows[0][:4], 1)  # the weakest was not served
    rows += [
        (2000.0, 10.0, 0.0, 5.0, 1),
        (2100.0, 10.0, 1e-3, np.inf, 0),
    ]  # no water; never between two steps
    found = sizing(blank_history(house, 9, draws=drawn(*rows)))
    assert found["tap_least_pa"] == 11e3
    assert found["tap_p5_pa"] == pytest.approx(10.5e3, rel=1e-12)


def test_without_a_draw_that_had_water_there_is_no_pressure(house, blank_history):
    for rows in ([], [(0.0, 10.0, 0.0, 1e4, 1)]):
        found = sizing(blank_history(house, 9, draws=drawn(*rows)))
        assert np.isnan(found["tap_least_pa"])
        assert np.isnan(found["tap_p5_pa"])
        assert found["over_uv_share"] == 0.0
    unserved = sizing(blank_history(house, 9, draws=drawn((0.0, 10.0, 1e-3, 1e4, 1))))
    assert np.isnan(unserved["tap_least_pa"])
    assert unserved["tap_p5_pa"] == 1e4


def test_the_share_of_draws_above_the_rating(house, blank_history):
    """Rated 1 L/s: two of 0.6 L/s at once are above it, one of 1 L/s is not, one of 1.1 L/s is."""
    rows = [
        (0.0, 10.0, 0.0, 1e4, 1),  # no water came; those after it count all the same
        (0.0, 10.0, 6e-3, 1e4, 0),
        (5.0, 10.0, 6e-3, 1e4, 0),
        (50.0, 10.0, 10e-3, 1e4, 0),
        (70.0, 10.0, 11e-3, 1e4, 0),
        (90.0, 0.0, 9.0, 1e4, 0),  # ended in the instant it began: it has no flow and does not count
    ]
    assert sizing(blank_history(house, 9, draws=drawn(*rows)))["over_uv_share"] == 0.75
    assert sizing(blank_history(house, 9, draws=drawn(rows[-1])))["over_uv_share"] == 0.0
    short = (50.0, 0.5, 0.6e-3, 1e4, 0)
    assert sizing(blank_history(house, 9, draws=drawn(short)))["over_uv_share"] == 1.0
    barely = (50.0, 10.0, 10e-3 * (1 + 1e-6), 1e4, 0)
    assert sizing(blank_history(house, 9, draws=drawn(barely)))["over_uv_share"] == 1.0


def test_what_draws_asked_for(tiny, blank_history):
    """For 60 s at 50 psi, halfway from 40 to 60, or for the 9 days of the run; 50 psi is 344,737.86 Pa."""
    house = tiny(pressure_switch={"cut_in": "40 psi", "cut_out": "60 psi"})
    records = drawn(*[(0.0, 10.0, 1e-3, 1e4, 0)] * 3)
    records["coefficient"] = 1e-6
    records["duration_s"] = 60.0, np.inf, np.inf
    records["volume_m3"] = np.inf, np.inf, 0.02
    asked_m3 = gone_through(blank_history(house, 9, draws=records)).asked_m3
    flow_m3_s = 1e-6 * 344_737.8647**0.5
    assert asked_m3 == pytest.approx([flow_m3_s * 60.0, flow_m3_s * 9 * 86400.0, 0.02], rel=1e-9)


def task(subject, cost=0.0, kind="task"):
    return Event(DAY_S, kind, subject, cost=cost)


def test_the_cartridge_that_lasts_least(house, blank_history):
    """In 90 days two changes and half of the third worn: 90/2.5 = 36; one change and a new one: 90."""
    one, two = (stage.name for stage in house.stages)
    events = [task(f"change cartridge: {one}")] * 2 + [task(f"change cartridge: {two}")]
    events.append(task(f"change cartridge: {one}", kind="due"))
    found = blank_history(house, 90, events=tuple(events), stage_life_left=np.array([0.5, 1.0]))
    assert sizing(found)["cartridge_days"] == pytest.approx(36.0, rel=1e-12)
    assert sizing(blank_history(house, 90))["cartridge_days"] == np.inf  # none worn at all
    untouched = blank_history(house, 90, stage_life_left=np.array([1.0, 0.75]))
    assert sizing(untouched)["cartridge_days"] == pytest.approx(360.0, rel=1e-12)


def test_a_life_is_wanted_for_each_stage(house, blank_history):
    with pytest.raises(ValueError, match="argument"):
        sizing(blank_history(house, 90, stage_life_left=np.ones(1)))


def test_renewals_are_pumps_and_pressure_tanks(house, blank_history):
    events = (
        task("repair pump", 300.0),
        task("repair pressure tank", 200.0),
        task("replace lamp", 95.0),
        task("repair pump", 7.0, kind="failure"),
    )
    assert sizing(blank_history(house, 90, events=events, years=2))["cost_renewals"] == 250.0
