"""Recorded loading runs of filters, each left out in turn: do forecasts from part of a run fit what came?

Run as a module with a table of runs (columns run, dust_fed_mm3, drop_pa, in order of time), not kept here,
as no licence is stated for it. The ensemble is that of a cartridge in a diary: exponent 0 to 2, plateau 0 to
0.6, life within a factor of 2 of the mean of the other runs, like filters unlike by a few per cent; readings
as dust and drop with the scatter of a gauge, 2 % of the last drop.
"""

import csv
import sys
from collections import defaultdict

import numpy as np
from scipy.special import ndtr

from sim.diary.infer import CORRELATED_DROPS
from sim.diary.parts.axes import spread_evenly
from sim.diary.parts.cartridges import growths
from sim.plant import cartridge
from tests.diary.trial import crps

DRAWS, READINGS = 65_536, 9
SCATTER = 0.02  # of the last drop
LIVES = (0.5, 0.8)


def runs(path):
    found = defaultdict(list)
    with open(path, newline="") as file:
        for row in csv.DictReader(file):
            found[row["run"]].append((float(row["dust_fed_mm3"]), float(row["drop_pa"])))
    return {run: np.array(rows) for run, rows in found.items()}


def ensemble(lives, clean, last, widest):
    """Draw lives, laws and clean drops; the law is one that has its last drop at a load of 1."""
    z = spread_evenly(DRAWS, 4, 7)
    u = ndtr(z)
    life = np.mean(lives) * 2.0 ** (2.0 * u[:, 0] - 1.0)
    exponent, plateau = 2.0 * u[:, 1], widest * u[:, 2]
    start = np.mean(clean) * 2.0 ** (2.0 * u[:, 3] - 1.0)
    return life, exponent, plateau, start, growths(exponent, last / start)


def drops(members, dust):
    life, exponent, plateau, start, growth = members
    ratio = [
        cartridge.resistance_ratio(x, n, k, p)
        for x, n, k, p in zip(dust / life, exponent, growth, plateau, strict=True)
    ]
    return start * np.array(ratio)


def forecast(run, others, life_share, temper, widest):
    """Return the CRPS of the life in % of it, that of the prior, and whether it fell in 90 %."""
    dust, drop = run[:, 0], run[:, 1]
    last, whole = drop[-1], dust[-1]
    clean = [np.median(one[:4, 1]) for one in others]
    members = ensemble([one[-1, 0] for one in others], clean, last, widest)
    at = np.linspace(0.1, life_share, READINGS) * whole
    read = np.interp(at, dust, drop)
    log_weight = np.zeros(DRAWS)
    for x, y in zip(at, read, strict=True):
        expected = np.minimum(drops(members, x), 50.0 * last)
        scale = np.hypot(SCATTER * last, 0.05 * expected)
        z = (y - expected) / scale
        density = 0.97 * 0.375 / (scale * (1.0 + 0.25 * z * z) ** 2.5) + 0.03 / last
        log_weight += temper * np.log(density)
    weight = np.exp(log_weight - log_weight.max())
    weight *= members[0] > at[-1]
    rng = np.random.default_rng(3)
    picked = rng.choice(DRAWS, 4000, p=weight / weight.sum())
    life = members[0][picked]
    prior = members[0][members[0] > at[-1]][:4000]
    low, high = np.quantile(life, [0.05, 0.95])
    return 100 * crps(life, whole) / whole, 100 * crps(prior, whole) / whole, low <= whole <= high


def main(path):
    found = runs(path)
    for widest, name in ((1e-9, "no plateau"), (0.6, "plateau")):
        for life in LIVES:
            temper = 1.0 / (1.0 + (READINGS - 1) * CORRELATED_DROPS)
            rows = [
                forecast(run, [one for key, one in found.items() if key != left], life, temper, widest)
                for left, run in found.items()
            ]
            own, prior, hit = np.array(rows, dtype=float).T
            print(
                f"{name}, {life:.0%} of life, {len(rows)} runs: CRPS {own.mean():.1f} % of life, "
                f"prior {prior.mean():.1f} %, cover of 90 %: {hit.mean():.2f}"
            )


if __name__ == "__main__":
    main(sys.argv[1])
