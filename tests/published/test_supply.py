"""Supply against published numbers.

Grade beside each case: S seen in the source, 2 seen second-hand, M from memory, C computed independently from
seen inputs. Tolerance: half the last printed digit unless a reason is given.
"""

import csv
from importlib.resources import files

import numpy as np
import pytest

from sim.supply import cistern, rain, roof, storage
from sim.units import FOOT_M, GALLON_M3, INCH_M

MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@pytest.fixture(scope="module")
def seattle():
    """Return dates and depths [m] of the daily Seattle record 2012-2015 in vega_datasets (public domain)."""
    text = files("vega_datasets").joinpath("_data/seattle-weather.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    dates = np.array([row["date"].replace("/", "-") for row in rows], dtype="datetime64[D]")
    return dates, np.array([float(row["precipitation"]) for row in rows]) / 1000.0


# --- roof ---
def test_one_inch_on_one_square_foot_is_0_6234_gallon():
    """1 in x 1 ft2 = 144 in3, a gallon is 231 in3; the trade prints 0.6234 (C, exact by definition)."""
    gallons = roof.runoff_depth_m(INCH_M, 0.0, 1.0) * FOOT_M**2 / GALLON_M3
    assert gallons == pytest.approx(0.6234, abs=0.00005)


def test_one_millimetre_on_one_square_metre_is_one_litre():
    """Definition of the millimetre of rain (C)."""
    assert roof.runoff_depth_m(0.001, 0.0, 1.0) * 1.0 * 1000.0 == pytest.approx(1.0, rel=1e-15)


def test_enhealth_worked_example():
    """enHealth 2011, Guidance on use of rainwater tanks, App. B: 750 mm, 200 m2, A 0.80, B 24 mm (S)."""
    assert 200e3 * roof.runoff_depth_m(0.750, 0.024, 0.80) == pytest.approx(116_160.0, abs=0.5)


ENHEALTH_B1 = {  # annual rain mm: kL from roofs of 100, 150, 200 m2; efficiency 0.8, loss 24 mm
    150: (10, 15, 20),
    300: (22, 33, 44),
    500: (38, 57, 76),
    800: (62, 93, 124),
    1200: (94, 141, 188),
}


@pytest.mark.parametrize("rain_mm", ENHEALTH_B1)
@pytest.mark.parametrize(("column", "area_m2"), [(0, 100), (1, 150), (2, 200)])
def test_enhealth_table_b1(rain_mm, column, area_m2):
    """enHealth 2011, App. B, Table B.1 (S); whole kilolitres."""
    harvest_kl = area_m2 * roof.runoff_depth_m(rain_mm / 1000.0, 0.024, 0.80)
    assert harvest_kl == pytest.approx(ENHEALTH_B1[rain_mm][column], abs=0.5)


def test_dtu_annual_supply():
    """University of Warwick DTU sizing sheet, method 2: 190 m2, 0.9, 1056 mm: 180.58 m3/yr, 494.7 L/d (S)."""
    annual_m3 = 190.0 * roof.runoff_depth_m(1.056, 0.0, 0.9)
    assert annual_m3 == pytest.approx(180.58, abs=0.005)
    assert 1000.0 * annual_m3 / 365.0 == pytest.approx(494.7, abs=0.05)


DTU_MONTHS = (
    ("Oct", 88, 15.05),
    ("Nov", 124, 21.20),
    ("Dec", 121, 20.69),
    ("Jan", 114, 19.49),
    ("Feb", 101, 17.27),
)
DTU_MONTHS += (("Mar", 136, 23.26), ("Apr", 227, 38.82))


@pytest.mark.parametrize(("month", "rain_mm", "harvest_m3"), DTU_MONTHS)
def test_dtu_month_harvest(month, rain_mm, harvest_m3):
    """DTU method 2, monthly harvest (monthly rain M: from memory, it reproduces the seen store of April)."""
    assert 190.0 * roof.runoff_depth_m(rain_mm / 1000.0, 0.0, 0.9) == pytest.approx(harvest_m3, abs=0.005), (
        month
    )


def test_dtu_largest_store():
    """DTU method 2: largest store 50.45 m3 at the end of April, empty at the end of September (S; rain M).

    Tolerance 0.01: the sheet adds seven monthly demands that it rounded to 0.01.
    """
    dry_season_mm = 145.0 / 5.0  # the sheet gives the five months May to September together
    rain_m = np.array([month[1] for month in DTU_MONTHS] + [dry_season_mm] * 5) / 1000.0
    inflow_m3 = np.array([190.0 * roof.runoff_depth_m(depth_m, 0.0, 0.9) for depth_m in rain_m])
    demand_m3 = np.full(12, inflow_m3.sum() / 12.0)
    _, spill_m3, volume_m3 = storage.yield_before_spillage(inflow_m3, demand_m3, 1e3, 0.0)
    assert volume_m3.argmax() == 6
    assert volume_m3.max() == pytest.approx(50.45, abs=0.01)
    assert volume_m3[-1] == pytest.approx(0.0, abs=1e-9)
    assert spill_m3.sum() == 0.0


# --- storage ---
INFLOW = np.array([4.0, 0, 0, 7, 1, 0, 0, 3])
# Worked by hand from the rules of Jenkins et al. 1978 and Fewkes & Butler 2000 (rules S, numbers C).
HAND = {
    "after": ([0, 2, 2, 0, 2, 2, 1, 0], [0, 0, 0, 2, 1, 0, 0, 0], [4, 2, 0, 5, 3, 1, 0, 3], 0.5625),
    "before": ([2, 2, 0, 2, 2, 2, 2, 2], [0, 0, 0, 0, 0, 0, 0, 0], [2, 0, 0, 5, 4, 2, 0, 1], 0.875),
}


@pytest.mark.parametrize("rule", HAND)
def test_storage_series_by_hand(rule):
    """Capacity 5, demand 2, empty at the start."""
    run = storage.yield_after_spillage if rule == "after" else storage.yield_before_spillage
    got = run(INFLOW, np.full(8, 2.0), 5.0, 0.0)
    for series, wanted in zip(got, HAND[rule][:3], strict=True):
        np.testing.assert_array_equal(series, wanted)
    assert got[0].sum() / 16.0 == HAND[rule][3]


# --- settling ---
def test_stokes_textbook():
    """Textbook exercise: 50 um, SG 2.67, mu 0.01 poise, g 981 cm/s2: 0.2275 cm/s (S)."""
    assert 100.0 * cistern.stokes_velocity_m_s(50e-6, 2670.0, 1000.0, 1e-3) == pytest.approx(
        0.2275, abs=0.00005
    )


STOKES_15C = (  # diameter um, particle kg/m3, m/h, hours to fall 1.5 m; computed independently (C)
    (5, 2650.0, 0.0712, 21.1),
    (10, 2650.0, 0.2846, 5.27),
    (20, 2650.0, 1.139, 1.32),
    (5, 1100.0, 0.00435, 345.0),
    (10, 1100.0, 0.01740, 86.2),
    (20, 1100.0, 0.0696, 21.6),
)


@pytest.mark.parametrize(("diameter_um", "particle_kg_m3", "velocity_m_h", "fall_h"), STOKES_15C)
def test_stokes_at_15_c(diameter_um, particle_kg_m3, velocity_m_h, fall_h):
    """Water at 15 C by IAPWS-95: 999.103 kg/m3, 1.1376 mPa s (C). Three printed digits: 0.3 %."""
    velocity = 3600.0 * cistern.stokes_velocity_m_s(diameter_um * 1e-6, particle_kg_m3, 999.103, 1.1376e-3)
    assert velocity == pytest.approx(velocity_m_h, rel=3e-3)
    assert 1.5 / velocity == pytest.approx(fall_h, rel=3e-3)


# --- rain parameters ---
TOKETEE_IN = (0.39, 0.33, 0.29, 0.23, 0.24, 0.22, 0.19, 0.25, 0.27, 0.35, 0.43, 0.43)
TOKETEE_WW = (0.74, 0.77, 0.76, 0.72, 0.64, 0.59, 0.41, 0.48, 0.60, 0.64, 0.75, 0.76)
TOKETEE_WD = (0.30, 0.28, 0.31, 0.31, 0.20, 0.15, 0.06, 0.08, 0.10, 0.19, 0.33, 0.32)
TOKETEE_DAYS = (16.61, 15.51, 17.47, 15.76, 11.07, 8.04, 2.86, 4.13, 6.00, 10.71, 17.07, 17.71)


def test_usda_station_wet_days_and_annual_rain():
    """USDA weather-generator station 358536, Toketee Falls, Oregon: inputs S, wet days and annual rain C."""
    mean_m = np.array(TOKETEE_IN) * INCH_M
    stats = rain.RainStatistics(np.array(TOKETEE_WD), np.array(TOKETEE_WW), np.ones(12), mean_m)
    wet_days = MONTH_DAYS * stats.p_wet()
    np.testing.assert_allclose(wet_days, TOKETEE_DAYS, atol=0.005)
    assert wet_days.sum() == pytest.approx(142.9, abs=0.05)
    assert (wet_days * mean_m).sum() / INCH_M == pytest.approx(46.61, abs=0.005)


# p01, p11, stationary share, mean mm, gamma shape, scale mm; fitted independently to the same file (C).
SEATTLE_FIT = (
    (0.3220, 0.7344, 0.5480, 7.061, 0.9767, 7.2292),
    (0.4615, 0.7432, 0.6425, 5.781, 0.8165, 7.0797),
    (0.3725, 0.7397, 0.5887, 8.304, 0.8334, 9.9643),
    (0.4333, 0.5500, 0.4906, 6.363, 1.0574, 6.0176),
    (0.1444, 0.6176, 0.2742, 6.103, 0.7908, 7.7172),
    (0.2289, 0.4865, 0.3083, 3.592, 0.7913, 4.5390),
    (0.0804, 0.1667, 0.0879, 4.382, 0.6001, 7.3021),
    (0.1165, 0.4762, 0.1819, 7.441, 0.6505, 11.4395),
    (0.2118, 0.4857, 0.2917, 6.729, 0.5619, 11.9752),
    (0.2727, 0.7414, 0.5133, 8.252, 0.8398, 9.8270),
    (0.3542, 0.7500, 0.5862, 9.049, 0.7404, 12.2230),
    (0.3902, 0.7831, 0.6428, 7.688, 0.9634, 7.9799),
)


@pytest.mark.parametrize("month", range(12))
def test_seattle_fit_by_month(seattle, month):
    """The monthly chain and maximum-likelihood gamma law of the Seattle file."""
    dates, depth_m = seattle
    stats = rain.fit(depth_m, rain.month_index(dates), 0.0)
    p01, p11, share, mean_mm, shape, scale_mm = SEATTLE_FIT[month]
    assert stats.p_wet_after_dry[month] == pytest.approx(p01, abs=0.00005)
    assert stats.p_wet_after_wet[month] == pytest.approx(p11, abs=0.00005)
    assert stats.p_wet()[month] == pytest.approx(share, abs=0.00005)
    assert stats.shape[month] == pytest.approx(shape, abs=0.00005)
    assert 1e3 * stats.scale_m[month] == pytest.approx(scale_mm, abs=0.00006)
    assert 1e3 * stats.shape[month] * stats.scale_m[month] == pytest.approx(mean_mm, abs=0.0005)


def test_seattle_file_replayed_in_order(seattle):
    """1,461 rows, 4,426.0 mm, 623 wet days, longest dry run 48 days (S), kept by a replay."""
    dates, depth_m = seattle
    assert depth_m.size == 1461
    replayed = rain.in_order(depth_m, dates, dates[0], 1461, 0)
    np.testing.assert_array_equal(replayed, depth_m)
    assert 1e3 * replayed.sum() == pytest.approx(4426.0, abs=0.05)
    assert np.count_nonzero(replayed) == 623
    between_wet = np.diff(np.flatnonzero(np.concatenate([[1.0], replayed, [1.0]]))) - 1
    assert between_wet.max() == 48


@pytest.mark.parametrize(
    ("year", "total_mm", "wet_days", "largest_mm"),
    [
        (2012, 1226.0, 177, 54.1),
        (2013, 828.0, 152, 43.4),
        (2014, 1232.8, 150, 46.7),
        (2015, 1139.2, 144, 55.9),
    ],
)
def test_seattle_year(seattle, year, total_mm, wet_days, largest_mm):
    """Totals of each year of the file (S), each reached by its offset into the record."""
    dates, depth_m = seattle
    got_mm = 1e3 * rain.in_order(depth_m, dates, np.datetime64("2016-01-01"), 366, year - 2012)
    assert got_mm.sum() == pytest.approx(total_mm, abs=0.05)
    assert np.count_nonzero(got_mm) == wet_days
    assert got_mm.max() == pytest.approx(largest_mm, abs=0.05)


def test_pooled_seattle_chain(seattle):
    """All months as one: p01 0.2437, p11 0.6726, shape 0.798, scale 8.90 mm (C, fitted independently)."""
    dates, depth_m = seattle
    stats = rain.fit(depth_m, np.zeros(dates.size, dtype=np.int64), 0.0)
    assert stats.p_wet_after_dry[0] == pytest.approx(0.2437, abs=0.00005)
    assert stats.p_wet_after_wet[0] == pytest.approx(0.6726, abs=0.00005)
    assert stats.shape[0] == pytest.approx(0.798, abs=0.0005)
    assert 1e3 * stats.scale_m[0] == pytest.approx(8.90, abs=0.005)
