"""What takes light from the sensor, by draw: what each mend would give back, and what stays."""

import math
from collections.abc import Mapping

import numpy as np

from sim.compiled import compiled
from sim.diary.parts.uv import (
    _C0,
    _L0,
    _NOW,
    _RESIDUE,
    _S,
    _SF,
    _SLEEVE,
    _W,
    _WF,
    _WINDOW,
    _WIPED,
    FIELDS,
    Floats,
    Ints,
    Moments,
    UvPart,
    absorbance_after,
    light_of,
    logs,
)
from sim.diary.paths import Paths
from sim.plant import uv


@compiled
def _losses(
    fields: Floats,
    states: Floats,
    lit: Floats,
    passed: Floats,
    tint: Floats,
    dirt: Floats,
    water_c: Floats,
    unit: Floats,
    found: Floats,
) -> None:
    """Fill the log of light that window, sleeve, lamp and carbon give back, and what is lost in all."""
    for i in range(fields.shape[0]):
        f, s = fields[i], states[i]
        since = lit[i] - s[_NOW]
        sleeve, window = s[_S] + f[_SLEEVE] * since, s[_W] + f[_WINDOW] * since
        lamp_s = lit[i] - s[_L0]
        absorbance = absorbance_after(tint[i], dirt[i], passed[i] - s[_C0], f, unit)
        light = light_of(lamp_s, sleeve + s[_SF], window + s[_WF], water_c[i], absorbance, f, unit)
        left, fixed = uv.film_after_wipe(window, s[_WF], f[_WIPED], f[_RESIDUE])
        found[i, 0] = window + s[_WF] - left - fixed
        left, fixed = uv.film_after_wipe(sleeve, s[_SF], f[_WIPED], f[_RESIDUE])
        found[i, 1] = sleeve + s[_SF] - left - fixed
        again = light_of(0.0, sleeve + s[_SF], window + s[_WF], water_c[i], absorbance, f, unit)
        found[i, 2] = math.log(max(again, 1e-9) / max(light, 1e-9))
        clear = absorbance_after(tint[i], dirt[i], 0.0, f, unit)
        again = light_of(lamp_s, sleeve + s[_SF], window + s[_WF], water_c[i], clear, f, unit)
        found[i, 3] = math.log(max(again, 1e-9) / max(light, 1e-9))
        found[i, 4] = -math.log(max(light, 1e-9))


def losses(
    part: UvPart, draws: Mapping[str, Floats], path: Ints, found: Moments, paths: Paths, at_days: Floats
) -> tuple[Floats, Floats]:
    """Return the log of light each mend gives back, shape (draws, 4), and all that is lost, by draw.

    Parameters
    ----------
    at_days : ndarray
        A time for each draw, after the last moment [d].

    Notes
    -----
    Mends in the order window, sleeve, lamp, carbon.
    """
    _, states, _ = logs(part, draws, path, found, paths, np.ones(found.readings))
    fields = np.ascontiguousarray(np.vstack([draws[name] for name in FIELDS]).T)
    days, place = np.unique(at_days, return_inverse=True)

    def each(values: Floats) -> Floats:
        return np.ascontiguousarray(values[path, place])

    result = np.zeros((path.size, 5))
    _losses(
        fields, states, each(paths.sum_at("lit_s", days)), each(paths.sum_at("passed_m3", days)),
        each(paths.end_of("tint_per_m", days)), each(paths.end_of("dirt_kg_m3", days)),
        each(paths.end_of("water_c", days)), part.unit.packed(), result,
    )  # fmt: skip
    return np.maximum(result[:, :4], 0.0), result[:, 4]
