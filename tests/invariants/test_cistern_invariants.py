"""What must hold for the cistern, the roof and the store whatever the numbers are."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.supply import cistern, roof, storage

steady = settings(deadline=None, derandomize=True, max_examples=150)


def numbers(low, high):
    """Return floats without subnormals, which carry no digits to check."""
    return st.floats(low, high, allow_subnormal=False)


amounts = numbers(0.0, 1e3)
volumes = numbers(0.0, 50.0)
shares = numbers(0.0, 1.0)
flows = numbers(0.0, 0.1)
times = numbers(0.0, 1e7)


def closes(parts, whole, throughput):
    """Return whether parts sum to the whole within 1e-12 of what passed."""
    return abs(sum(parts) - whole) <= 1e-12 * throughput


@steady
@given(volumes, numbers(0.0, 500.0), numbers(0.01, 50.0))
def test_fill_keeps_water_and_bounds(volume, inflow, capacity):
    volume = min(volume, capacity)
    after, overflow = cistern.fill(volume, inflow, capacity)
    assert 0.0 <= after <= capacity
    assert overflow >= 0.0
    assert closes((after, overflow), volume + inflow, volume + inflow)


@steady
@given(amounts, shares, numbers(0.0, 500.0), numbers(0.0, 100.0), numbers(0.01, 50.0))
def test_mix_in_keeps_everything(amount, filled, inflow, concentration, capacity):
    came = concentration * inflow
    left, overflow = cistern.mix_in(amount, filled * capacity, inflow, came, capacity)
    assert left >= 0.0
    assert overflow >= 0.0
    assert closes((left, overflow), amount + came, amount + came)


@steady
@given(numbers(0.0, 100.0), shares, numbers(0.0, 500.0), numbers(0.0, 100.0), numbers(0.01, 50.0))
def test_mixing_lies_between_the_two_waters(stored, filled, inflow, arriving, capacity):
    volume = filled * capacity
    left, _ = cistern.mix_in(stored * volume, volume, inflow, arriving * inflow, capacity)
    after, _ = cistern.fill(volume, inflow, capacity)
    assert (
        min(stored, arriving) * after * (1.0 - 1e-9) <= left <= max(stored, arriving) * after * (1.0 + 1e-9)
    )


@steady
@given(amounts, volumes, shares, flows, times)
def test_draw_and_settle_keeps_everything(amount, volume, share, settling, dt):
    parts = cistern.draw_and_settle(amount, volume, share * volume, settling, dt)
    assert all(np.isfinite(parts))
    assert min(parts) >= 0.0
    assert closes(parts, amount, amount)


@steady
@given(amounts, numbers(0.1, 50.0), numbers(0.0, 0.99), flows, numbers(1.0, 1e6), shares)
def test_draw_and_settle_in_parts(amount, volume, share, settling, dt, part):
    drawn = share * volume
    whole = cistern.draw_and_settle(amount, volume, drawn, settling, dt)
    first = cistern.draw_and_settle(amount, volume, part * drawn, settling, part * dt)
    left = volume - part * drawn
    second = cistern.draw_and_settle(first[0], left, drawn - part * drawn, settling, dt - part * dt)
    parts = (second[0], first[1] + second[1], first[2] + second[2])
    np.testing.assert_allclose(parts, whole, rtol=0.0, atol=1e-10 * amount)


@steady
@given(amounts, volumes, shares, flows, flows, numbers(1.0, 1e6))
def test_faster_settling_leaves_less(amount, volume, share, slow, fast, dt):
    slow, fast = sorted((slow, fast))
    slowly = cistern.draw_and_settle(amount, volume, share * volume, slow, dt)
    quickly = cistern.draw_and_settle(amount, volume, share * volume, fast, dt)
    assert quickly[0] <= slowly[0] * (1.0 + 1e-12)
    assert quickly[1] <= slowly[1] * (1.0 + 1e-12) + 1e-12 * amount


@steady
@given(amounts, numbers(0.0, 1e3), numbers(0.0, 1e2), shares, numbers(-1.0, 2.0), shares)
def test_sludge_never_gives_more_than_it_has(sludge, water, rate, factor, level, onset):
    assert 0.0 <= cistern.resuspended_kg(sludge, water, rate, factor) <= sludge
    assert 0.0 <= cistern.entrained_kg(sludge, water, level, rate, onset) <= sludge


@steady
@given(amounts, numbers(0.0, 1.0), times)
def test_decay_keeps_everything(amount, rate, dt):
    left, lost = cistern.decayed(amount, rate, dt)
    assert min(left, lost) >= 0.0
    assert closes((left, lost), amount, amount)


@steady
@given(amounts, numbers(0.0, 0.5), numbers(0.0, 5e3), times, amounts, numbers(1.0, 1e7))
def test_roof_store_stays_between_nothing_and_its_limit(store, depth, rate, dry, limit, tau):
    washed = roof.washed(store, depth, rate)
    assert 0.0 <= washed <= store
    after = roof.dust_after(store, dry, limit, tau)
    assert min(store, limit) * (1 - 1e-12) <= after <= max(store, limit) * (1 + 1e-12)


@steady
@given(
    st.lists(st.tuples(numbers(0.0, 20.0), numbers(0.0, 5.0)), min_size=1, max_size=40),
    numbers(0.0, 30.0),
    shares,
)
def test_store_keeps_water_and_the_cautious_rule_yields_less(days, capacity, filled):
    inflow, demand = np.array(days).T.copy()
    start = filled * capacity
    total = {}
    for run in (storage.yield_after_spillage, storage.yield_before_spillage):
        used, spill, volume = run(inflow, demand, capacity, start)
        before = np.concatenate([[start], volume[:-1]])
        np.testing.assert_allclose(
            before + inflow, used + spill + volume, rtol=0.0, atol=1e-12 * (60.0 + capacity)
        )
        assert used.min() >= 0.0
        assert np.all(used <= demand)
        assert spill.min() >= 0.0
        assert volume.min() >= -1e-12
        assert volume.max() <= capacity
        total[run] = used.sum()
    assert total[storage.yield_after_spillage] <= total[storage.yield_before_spillage] + 1e-9


@steady
@given(
    st.lists(
        st.tuples(numbers(0.0, 12.0), numbers(0.0, 2.0), numbers(0.0, 1.0), numbers(0.0, 2e-4)),
        min_size=1,
        max_size=30,
    )
)
def test_a_season_closes_its_ledger(days):
    """Rain in, overflow, draw, settling, stirring and decay for a season: water and solids both close."""
    capacity, volume, solids, sludge = 10.0, 4.0, 0.08, 0.05
    had_m3, had_kg = volume, solids + sludge
    in_m3 = in_kg = out_m3 = out_kg = 0.0
    for inflow, concentration, share, settling in days:
        stirred = cistern.resuspended_kg(sludge, inflow, 0.05, 0.5)
        sludge, solids = sludge - stirred, solids + stirred
        solids, over_kg = cistern.mix_in(solids, volume, inflow, concentration * inflow, capacity)
        volume, over_m3 = cistern.fill(volume, inflow, capacity)
        drawn_m3 = share * volume
        solids, drawn_kg, settled = cistern.draw_and_settle(solids, volume, drawn_m3, settling, 86400.0)
        volume -= drawn_m3
        taken = cistern.entrained_kg(sludge, drawn_m3, volume / capacity, 0.02, 0.2)
        solids, lost = cistern.decayed(solids, 1e-7, 86400.0)
        sludge += settled - taken
        in_m3, in_kg = in_m3 + inflow, in_kg + concentration * inflow
        out_m3, out_kg = out_m3 + over_m3 + drawn_m3, out_kg + over_kg + drawn_kg + taken + lost
    assert abs(had_m3 + in_m3 - out_m3 - volume) <= 1e-12 * (had_m3 + in_m3)
    assert abs(had_kg + in_kg - out_kg - solids - sludge) <= 1e-12 * (had_kg + in_kg)
