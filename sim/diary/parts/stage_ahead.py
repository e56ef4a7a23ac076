"""A cartridge from the last reading on: its load, its drop, and when the drop is over a limit."""

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled
from sim.diary.parts.stage import Drops, StagePart, along, drop_pa, side_by_side, thicker
from sim.diary.parts.unnoted import hidden_gap
from sim.diary.paths import Paths

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def load_at(
    part: StagePart,
    draws: Mapping[str, Floats],
    path: Ints,
    paths: Paths,
    drops: Drops,
    renewals: Floats,
    at_days: Floats,
) -> Floats:
    """Return the load of each draw over capacity at times at or after the last reading, shape (draws, times).

    Parameters
    ----------
    drops : Drops
        Readings of this stage.
    at_days : ndarray
        Times since the begin [d], in order.
    renewals : ndarray
        As in `along`.
    """
    found = along(part, paths, at_days, renewals)
    gap = hidden_gap(draws["hidden"], drops.gap_shares)
    readings_days = drops.at_days
    middle = 0.5 * (readings_days[1:] + readings_days[:-1]) if readings_days.size > 1 else np.zeros(1)
    hidden = paths.sum_at(part.number, middle)[path, np.maximum(gap, 0)]
    base = found.base[path]
    since = np.where((gap >= 0)[:, None], np.maximum(base, hidden[:, None]), base)
    unknown = (1.0 - found.fresh)[None, :] * ~((gap >= 0)[:, None] & (hidden[:, None] > base))
    daily = np.where(draws["head"] < 0.0, found.daily[path, 1], found.daily[path, 0])
    head = (draws["head"] * daily)[:, None] * unknown
    return np.asarray((found.mass[path] - since + head) / draws["capacity"][:, None])


@compiled
def _first_over(
    path: Ints,
    fields: Floats,
    load: Floats,
    mass: Floats,
    thick: Floats,
    pipe: Floats,
    limit_pa: float,
    flow_m3_s: float,
    spare_pa: float,
    others_pa_s_m3: float,
    others_pa_s2_m6: float,
    found: Floats,
) -> None:
    for i in range(path.size):
        p, found[i] = path[i], math.inf
        for k in range(mass.shape[1]):
            drop = drop_pa(
                load[i] + (mass[p, k] - mass[p, 0]) / fields[2, i], thick[p, k], fields[0, i], fields[1, i],
                fields[3, i], fields[4, i], fields[5, i], flow_m3_s, spare_pa, others_pa_s_m3,
                others_pa_s2_m6 + pipe[p],
            )  # fmt: skip
            if drop > limit_pa:
                found[i] = k
                break


def first_over(
    part: StagePart,
    draws: Mapping[str, Floats],
    path: Ints,
    paths: Paths,
    load: Floats,
    at_days: Floats,
    limit_pa: float,
) -> Floats:
    """Return for each draw the number of the first time at which the drop is over a limit, or infinity.

    Parameters
    ----------
    load : ndarray
        Load over capacity at the first of the times, shape (draws,).
    at_days : ndarray
        Times since the begin [d].
    """
    found = np.empty(path.size)
    fields = side_by_side(draws)
    _first_over(
        path, fields, load, paths.sum_at(part.number, at_days), thicker(paths.end_of("water_c", at_days)),
        paths.pipe_quadratic, limit_pa, part.reading_flow_m3_s, part.spare_pa, part.others_pa_s_m3,
        part.others_pa_s2_m6, found,
    )  # fmt: skip
    return found


@compiled
def _drops_now(
    path: Ints,
    fields: Floats,
    load: Floats,
    thick: Floats,
    pipe: Floats,
    flow_m3_s: float,
    spare_pa: float,
    others_pa_s_m3: float,
    others_pa_s2_m6: float,
    found: Floats,
) -> None:
    for i in range(path.size):
        found[i] = drop_pa(
            load[i], thick[i], fields[0, i], fields[1, i], fields[3, i], fields[4, i], fields[5, i],
            flow_m3_s, spare_pa, others_pa_s_m3, others_pa_s2_m6 + pipe[path[i]],
        )  # fmt: skip


def drops_now(
    part: StagePart, draws: Mapping[str, Floats], path: Ints, paths: Paths, load: Floats, thick: Floats
) -> Floats:
    """Return the drop of each draw at a load, at the flow at which drops are read [Pa].

    Parameters
    ----------
    load : ndarray
        Load over capacity, shape (draws,).
    thick : ndarray
        Viscosity over that at 20 C, likewise.
    """
    found = np.empty(path.size)
    fields = side_by_side(draws)
    _drops_now(
        path, fields, load, thick, paths.pipe_quadratic, part.reading_flow_m3_s, part.spare_pa,
        part.others_pa_s_m3, part.others_pa_s2_m6, found,
    )  # fmt: skip
    return found
