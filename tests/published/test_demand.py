"""Demand against published numbers.

Grade beside each case: S seen in the source, 2 seen second-hand, M from memory, C computed independently.
Tolerance: half the last printed digit unless a reason is given. Where inputs are from memory the case checks
the method and not the world.
"""

import numpy as np
import pytest

from sim.demand import peak, pulses
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.units import GALLON_M3, GPM_M3_S, LPM_M3_S, PSI_PA

PEOPLE = (
    2.65  # Residential End Uses of Water, version 2 (Water Research Foundation 4309, 2016), homes logged (S)
)
FLAT = profile("flat")


def use(name, bound, events, size, flow_gpm, fills=1.0):
    """Return an end use with sizes in gallons or seconds and no spread."""
    volume, duration = (size * GALLON_M3, 0.0) if bound == "volume" else (0.0, size)
    flow = flow_gpm * GPM_M3_S
    return EndUse(
        name, bound, events, volume, duration, flow, 60 * PSI_PA, 0.0, 0.0, fills, 900.0, 1800.0, FLAT, FLAT
    )


# Per person and day: events 2/M, volumes 2/M, flows M. The ledger computed from them is independent (C).
LEDGER = {  # draws/d, mean number running at once, gal/d
    "toilet": (use("toilet", "volume", 5.0, 2.6, 3.0), 13.25, 0.00797, 34.45),
    "shower": (use("shower", "time", 0.69, 7.80 * 60, 2.026), 1.83, 0.00990, 28.89),
    "tap": (use("tap", "time", 20.0, 30.0, 1.0), 53.0, 0.01840, 26.50),
    "washer": (use("washer", "volume", 0.30, 31.0, 3.5, 4.4), 3.50, 0.00489, 24.64),
    "dishwasher": (use("dishwasher", "volume", 0.10, 6.1, 1.3, 4.7), 1.25, 0.00086, 1.62),
    "bath": (use("bath", "volume", 0.067, 20.2, 5.5), 0.18, 0.00045, 3.59),
}


@pytest.mark.parametrize("name", LEDGER)
def test_ledger_of_one_use(name):
    """Draws a day, busy mean and gallons a day of each use at 2.65 persons.

    Draws: half of 0.01. Busy: half of 1e-5 plus the rounding of its printed inputs (0.2 %). Gallons: half of
    0.01 plus the rounding of the printed flow 2.026 gpm and of draws (0.1 %).
    """
    item, draws, busy, gallons = LEDGER[name]
    got_busy = float(peak.busy_by_hour(item, PEOPLE).mean())
    assert item.events_per_person_day * PEOPLE * item.fills_per_event == pytest.approx(draws, abs=0.005)
    assert got_busy == pytest.approx(busy, abs=5e-6, rel=2e-3)
    got_gallons = pulses.flow_mean_m3_s(got_busy, item.flow_m3_s) * 86400.0 / GALLON_M3
    assert got_gallons == pytest.approx(gallons, abs=0.005, rel=1e-3)


def test_ledger_of_the_household():
    """73.0 draws/d, 119.7 gal/d, busy 0.0425, idle 0.9584, flow 0.0831 gpm with sd 0.454 gpm (C)."""
    items = [case[0] for case in LEDGER.values()]
    busy = [float(peak.busy_by_hour(item, PEOPLE).mean()) for item in items]
    flow = sum(pulses.flow_mean_m3_s(b, item.flow_m3_s) for b, item in zip(busy, items, strict=True))
    variance = sum(
        pulses.flow_variance_m6_s2(b, item.flow_m3_s, 0.0) for b, item in zip(busy, items, strict=True)
    )
    draws = sum(item.events_per_person_day * PEOPLE * item.fills_per_event for item in items)
    assert draws == pytest.approx(73.0, abs=0.05)
    assert flow * 86400.0 / GALLON_M3 == pytest.approx(119.7, abs=0.05)
    assert sum(busy) == pytest.approx(0.0425, abs=0.00005)
    assert pulses.idle_probability(sum(busy)) == pytest.approx(0.9584, abs=0.00005)
    assert flow / GPM_M3_S == pytest.approx(0.0831, abs=0.00005)
    assert np.sqrt(variance) / GPM_M3_S == pytest.approx(0.454, abs=0.0005)
    assert variance / flow / GPM_M3_S == pytest.approx(2.48, abs=0.005)


def test_ledger_daily_spread():
    """Standard deviation of the day's volume, every draw (each washer fill too) Poisson: 28.4 gal (C)."""
    variance = 0.0
    for item, *_ in LEDGER.values():
        draws = item.events_per_person_day * PEOPLE * item.fills_per_event
        volume = item.flow_m3_s * item.occupied_s / item.fills_per_event
        variance += pulses.daily_volume_variance_m6(draws, volume, 0.0, 0.0)
    assert np.sqrt(variance) / GALLON_M3 == pytest.approx(28.4, abs=0.05)


def test_poisson_rectangular_pulses():
    """80 draws/d, 1 min, 6 +/- 3 L/min: rho 0.05556, idle 0.94596, E 0.33333, Var 2.5000.

    Formulas of Buchberger & Wu 1995 (abstract S), numbers C, confirmed there by a separate 20,000-day run.
    """
    busy = pulses.busy_mean(80.0 / 86400.0, 60.0)
    assert busy == pytest.approx(0.05556, abs=0.000005)
    assert pulses.idle_probability(busy) == pytest.approx(0.94596, abs=0.000005)
    assert pulses.flow_mean_m3_s(busy, 6.0 * LPM_M3_S) / LPM_M3_S == pytest.approx(0.33333, abs=0.000005)
    variance = pulses.flow_variance_m6_s2(busy, 6.0 * LPM_M3_S, 3.0 * LPM_M3_S)
    assert variance / LPM_M3_S**2 == pytest.approx(2.5000, abs=0.00005)


def test_hunter_worked_point():
    """Seven fixtures of 4 gpm, p 0.20: four at once, 16 gpm (S: lecture slides on Hunter 1940, BMS65)."""
    assert peak.hunter_flow_m3_s(7, 0.20, 4.0, 0.99) == 16.0


# Peak-hour p and q in gpm of the 2017 peak water demand study (M); results by separate exact enumeration and
# a separate 2,000,000-draw simulation (C).
# Kinds: toilet, lavatory, shower, tub with shower, kitchen, dishwasher, clothes washer.
P = np.array([0.010, 0.020, 0.045, 0.055, 0.020, 0.005, 0.055])
Q = np.array([3.0, 1.5, 2.0, 5.5, 2.2, 1.3, 3.5])
HOMES = {  # fixtures, H, P0, mean gpm, variance, zero-truncated 99 %, Wistort, modified Wistort
    "two baths": ([2, 2, 1, 1, 1, 1, 1], 0.240, 0.7828, 0.7555, 2.7505, 9.0, 4.61, 7.64),
    "one bath": ([1, 1, 1, 0, 1, 1, 1], 0.155, 0.8538, 0.3930, 1.0451, 5.7, 2.77, 4.99),
}


@pytest.mark.parametrize("home", HOMES)
def test_peak_of_a_home(home):
    """Zero-truncated 99th percentile 9.0 and 5.7 gpm, Wistort 4.61 and 2.77, modified 7.64 and 4.99 gpm."""
    fixtures, open_mean, idle, mean, variance, truncated, wistort, modified = HOMES[home]
    n = np.array(fixtures)
    assert n @ P == pytest.approx(open_mean, abs=0.0005)
    assert np.prod((1 - P) ** n) == pytest.approx(idle, abs=0.00005)
    assert n @ (P * Q) == pytest.approx(mean, abs=0.00005)
    assert n @ (P * (1 - P) * Q**2) == pytest.approx(variance, abs=0.00006)
    assert peak.zero_truncated_quantile(Q, n, P, 0.99, 0.05) == pytest.approx(truncated, abs=1e-9)
    assert peak.wistort_m3_s(Q, n, P) == pytest.approx(wistort, abs=0.005)
    assert peak.modified_wistort_m3_s(Q, n, P) == pytest.approx(modified, abs=0.005)


@pytest.mark.parametrize(("home", "gpm"), [("two baths", 9.0), ("one bath", 5.7)])
def test_peak_of_a_home_in_si(home, gpm):
    """The same on the default grid of 0.05 gpm, in m3/s."""
    n = np.array(HOMES[home][0])
    assert peak.zero_truncated_quantile(Q * GPM_M3_S, n, P, 0.99) == pytest.approx(gpm * GPM_M3_S, rel=1e-12)


PEAKS = {  # printed peak hour and peak over mean: C for indoor, else from columns seen second-hand (2)
    "indoor": (7, 1.69),
    "hot water": (7, 2.08),
    "shower": (6, 2.83),
    "sink": (18, 1.80),
    "bath": (19, 2.40),
    "clothes washer": (9, 2.06),
    "dishwasher": (19, 2.67),
    "hot water weekday": (7, 2.56),
    "hot water weekend": (9, 1.99),
}


@pytest.mark.parametrize("name", PEAKS)
def test_profile_peak(name):
    """Residential End Uses v2 sine fits; Building America protocols 2010/2014; California Title 24."""
    hour, factor = PEAKS[name]
    shares = profile(name)
    assert int(shares.argmax()) == hour
    assert 24.0 * shares.max() == pytest.approx(
        factor, abs=0.006
    )  # printed from sums rounded to 1.00 +/- 0.002
    assert shares.sum() == pytest.approx(1.0, rel=1e-14)


def test_weekend_morning_share():
    """Share of 06 to 10 h falls from 0.351 on weekdays to 0.233 at weekends (C, from columns as printed).

    Tolerance 0.001: the printed columns sum to 1.002 and 1.000, ours are scaled to 1.
    """
    assert profile("hot water weekday")[6:10].sum() == pytest.approx(0.351, abs=0.001)
    assert profile("hot water weekend")[6:10].sum() == pytest.approx(0.233, abs=0.001)
