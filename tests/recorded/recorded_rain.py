"""Recorded rain as it is kept here: monthly values of places, their spread, two daily series."""

import csv
from functools import cache
from pathlib import Path

import numpy as np

from sim.supply.generator import RainStatistics
from sim.supply.weather import STEADY

HERE = Path(__file__).parent
STATISTICS = ("yearly_cv", "monthly_sd", "longest_dry", "driest_90_days", "wettest_day")  # as in Spread
TO_SI = {"1": 1.0, "mm": 1e-3, "d": 1.0}


def _rows(name):
    text = (HERE / name).read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


@cache
def spread_rows():
    """Return the lines of rain_spread.csv."""
    return _rows("rain_spread.csv")


@cache
def station(name, weather=STEADY):
    """Return the parameters of the generator of a place, January first."""
    months = [row for row in _rows("rain_stations.csv") if row["station"] == name]
    columns = ("p_wet_after_dry", "p_wet_after_wet", "gamma_shape", "gamma_scale_mm")
    p01, p11, shape, scale_mm = (np.array([float(row[key]) for row in months]) for key in columns)
    return RainStatistics(p01, p11, shape, 1e-3 * scale_mm, weather)


@cache
def daily(name):
    """Return dates and depths [m] of a daily series."""
    dates, depth_mm = [], []
    for row in _rows(f"rain_{name}.csv"):
        days = row["depths_mm"].split()
        dates += list(np.datetime64(row["month"], "D") + np.arange(len(days)))
        depth_mm += [float(day) for day in days]
    return np.array(dates, dtype="datetime64[D]"), 1e-3 * np.array(depth_mm)
