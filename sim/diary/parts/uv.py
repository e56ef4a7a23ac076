"""The UV unit laid along the paths: lamp, films, water, what the sensor read and the dose it gives."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled
from sim.constants import DAY_S
from sim.diary.parts import likelihood
from sim.diary.parts.axes import SETTLING_DAYS, Axis, head, normal, of_span, uniform
from sim.diary.parts.unnoted import HIDDEN_DRAWN, even, log_hidden
from sim.diary.paths import Paths
from sim.plant import carbon, lamp, uv
from sim.scenario.scenario import Scenario
from sim.scenario.values.variants import Span

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
READ, ALARM, HOURS, WIPE_SLEEVE, WIPE_WINDOW, LAMP, CARBON = range(7)
LAST_READ = HOURS  # what comes after it is a service
HIDDEN_CHANCE = 0.02  # that a wipe or a lamp between two readings was not noted [A]
HIDDEN_KINDS = 4  # sleeve, window, both, lamp with both
CODES: Mapping[str, int] = {
    "wiped sleeve": WIPE_SLEEVE,
    "wiped sensor window": WIPE_WINDOW,
    "new lamp": LAMP,
}  # by effect
# What is drawn of the unit, in the order in which the compiled code takes it.
FIELDS = (
    "burn_in_s", "burn_in_loss", "optimum_c", "freezing", "sleeve_per_s", "window_per_s", "wiped", "residue",
    "absorbing", "scatter", "lamp_head_s", "sleeve_head_s", "window_head_s", "initial", "floor",
    "half_volumes", "steepness",
)  # fmt: skip
(
    _BURN_S, _BURN, _OPTIMUM, _FREEZING, _SLEEVE, _WINDOW, _WIPED, _RESIDUE, _ABSORBING, _SCATTER, _LAMP_HEAD,
    _SLEEVE_HEAD, _WINDOW_HEAD, _INITIAL, _FLOOR, _HALF, _STEEP,
) = range(len(FIELDS))  # fmt: skip
# Where a draw stands: films that can be wiped and cannot, lit time and water at renewals, lit time by now.
STATE = ("sleeve", "sleeve_fixed", "window", "window_fixed", "lamp_from_s", "carbon_from_m3", "lit_s")
_S, _SF, _W, _WF, _L0, _C0, _NOW = range(len(STATE))


@dataclass(frozen=True)
class Unit:
    """What is known of the unit, for the compiled code; carbon_m3 is 0 where no stage holds any."""

    lamp_tau_s: float
    reference_per_m: float
    path_m: float
    gap_m: float
    rated_per_m: float
    dose_new_j_m2: float
    rated_flow_m3_s: float
    alarm: float
    carbon_m3: float

    def packed(self) -> Floats:
        """Return the numbers in the order in which the compiled code takes them."""
        return np.array(
            [
                self.lamp_tau_s,
                self.reference_per_m,
                self.path_m,
                self.gap_m,
                self.rated_per_m,
                self.alarm,
                self.carbon_m3,
            ]
        )


_TAU, _REFERENCE, _PATH, _GAP, _RATED, _ALARM, _BED = range(7)


@dataclass(frozen=True)
class UvPart:
    """The UV unit of a site: what is known of it, and the axes of what is not."""

    unit: Unit
    axes: tuple[Axis, ...]
    target_j_m2: float
    carbon_stage: int  # -1 where no stage holds carbon
    name: str = "UV"

    def draws(self, z: Floats) -> dict[str, Floats]:
        """Return draws of what is not known, from standard normal numbers."""
        found = {axis.name: axis.at(z[:, k]) for k, axis in enumerate(self.axes)}
        spread = found["film_spread"]
        for surface in ("sleeve", "window"):
            house = np.exp(spread * found[f"{surface}_house"] - 0.5 * spread * spread)
            found[f"{surface}_per_s"] = found[f"{surface}_film"] * house
        return found


def uv_part(scenario: Scenario, spans: Mapping[str, Span], settled_days: float = SETTLING_DAYS) -> UvPart:
    """Return the UV unit of a site as a part, its first line so many days after the begin of the paths."""
    one = scenario.uv

    def axis(name: str, field: str, value: float) -> Axis:
        return of_span(name, spans.get(f"uv.{field}"), value)

    beds = [k for k, stage in enumerate(scenario.stages) if stage.carbon_bed_m3 > 0.0]
    bed = scenario.stages[beds[0]] if beds else None
    key = f"stage[{bed.name}]." if bed else ""

    def of_bed(name: str, field: str, value: float) -> Axis:
        return of_span(name, spans.get(f"{key}carbon_{field}"), value)

    axes = (
        axis("burn_in_s", "burn_in", one.burn_in_s),
        axis("burn_in_loss", "burn_in_loss", one.burn_in_loss),
        axis("optimum_c", "optimum_from", one.optimum_c),
        axis("freezing", "output_at_freezing", one.output_at_freezing),
        axis("sleeve_film", "sleeve_film", one.sleeve_film_per_s),
        axis("window_film", "window_film", one.window_film_per_s),
        axis("film_spread", "film_spread", one.film_spread),
        normal("sleeve_house"),
        normal("window_house"),
        axis("wiped", "wiped", one.wiped),
        axis("residue", "residue", one.residue),
        axis("absorbing", "solids_absorbance", one.solids_absorbance_m2_kg),
        of_span("scatter", spans.get("gauge.uv_reading_sd"), scenario.gauge.uv_reading_sd),
        head("lamp_head_s", 365.0, settled_days, DAY_S),
        head("sleeve_head_s", 182.5, settled_days, DAY_S),
        head("window_head_s", 182.5, settled_days, DAY_S),
        of_bed("initial", "initial", bed.carbon_initial if bed else 0.0),
        of_bed("floor", "floor", bed.carbon_floor if bed else 0.0),
        of_bed("half_volumes", "half_bed_volumes", bed.carbon_half_bed_volumes if bed else 1.0),
        of_bed("steepness", "steepness", bed.carbon_steepness if bed else 1.0),
        uniform("hidden", 0.0, 1.0),
    )
    unit = Unit(
        lamp.time_constant_from(one.output_at_end / (1.0 - one.burn_in_loss), one.rated_life_s),
        one.reference_absorbance_per_m,
        one.sensor_path_m,
        one.gap_m,
        uv.absorbance_per_m(one.rated_transmittance),
        uv.new_dose_j_m2(one.dose_at_rating_j_m2, one.light_at_rating),
        one.rated_flow_m3_s,
        one.alarm,
        bed.carbon_bed_m3 * bed.housings if bed else 0.0,
    )
    return UvPart(unit, axes, one.target_j_m2, beds[0] if beds else -1)


@dataclass(frozen=True)
class Moments:
    """Readings and services of the unit in order of time.

    Attributes
    ----------
    at_days : ndarray
        Times since the begin of the paths [d].
    kind : ndarray
        READ, ALARM, HOURS or one of the services.
    value : ndarray
        Reading of new and clean, 1 and 0 for an alarm seen on and off, or lamp hours [s].
    step : ndarray
        To what a reading was rounded.
    """

    at_days: Floats
    kind: Ints
    value: Floats
    step: Floats

    @property
    def readings(self) -> int:
        """Number of readings and alarms seen."""
        return int((self.kind <= LAST_READ).sum())


def moments(
    readings: Sequence[tuple[float, int, float, float]], services: Sequence[tuple[float, int]]
) -> Moments:
    """Return readings and services in order; a reading of the same moment comes before a service."""
    rows = [*readings, *((at, code, 0.0, 0.0) for at, code in services)]
    rows.sort(key=lambda row: (row[0], row[1] > LAST_READ, row[1], row[2]))
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return Moments(table[:, 0].copy(), table[:, 1].astype(np.int64), table[:, 2].copy(), table[:, 3].copy())


@compiled
def absorbance_after(
    tint_per_m: float, dirt_kg_m3: float, passed_m3: float, f: Floats, unit: Floats
) -> float:
    """Return the absorbance_per_m of the water at the unit: carbon takes colour, dirt_kg_m3 adds to it."""
    removal = 0.0
    if unit[_BED] > 0.0:
        removal = carbon.removal_fraction(
            passed_m3 / unit[_BED], f[_INITIAL], min(f[_FLOOR], f[_INITIAL]), f[_HALF], f[_STEEP]
        )
    return float(tint_per_m * (1.0 - removal) + dirt_kg_m3 * f[_ABSORBING])


@compiled
def light_of(
    lit_s: float,
    sleeve: float,
    window: float,
    water_c: float,
    absorbance_per_m: float,
    f: Floats,
    unit: Floats,
) -> float:
    """Return the reading of the sensor, of new and clean."""
    output = lamp.output(lit_s, unit[_TAU], f[_BURN_S], f[_BURN])
    cold = lamp.temperature_factor(water_c, f[_OPTIMUM], f[_FREEZING])
    return uv.sensor_fraction(
        output, math.exp(-sleeve), math.exp(-window), cold, absorbance_per_m, unit[_REFERENCE], unit[_PATH]
    )


@compiled
def dose_share(
    lit_s: float, sleeve: float, water_c: float, absorbance_per_m: float, f: Floats, unit: Floats
) -> float:
    """Return the dose at rated flow over that of the new and clean unit in its rated water."""
    output = lamp.output(lit_s, unit[_TAU], f[_BURN_S], f[_BURN])
    cold = lamp.temperature_factor(water_c, f[_OPTIMUM], f[_FREEZING])
    factor = uv.water_factor(absorbance_per_m, unit[_GAP]) / uv.water_factor(unit[_RATED], unit[_GAP])
    return output * math.exp(-sleeve) * cold * factor


@compiled
def _grow(s: Floats, f: Floats, lit_s: float) -> None:
    s[_S] += f[_SLEEVE] * lit_s
    s[_W] += f[_WINDOW] * lit_s


@compiled
def _wipe(s: Floats, f: Floats, film: int) -> None:
    s[film], s[film + 1] = uv.film_after_wipe(s[film], s[film + 1], f[_WIPED], f[_RESIDUE])


@compiled
def _serve(s: Floats, f: Floats, kind: int, lit_s: float, passed_m3: float) -> None:
    """Let a service act on where a draw stands."""
    if kind == WIPE_SLEEVE:
        _wipe(s, f, _S)
    elif kind == WIPE_WINDOW:
        _wipe(s, f, _W)
    elif kind == LAMP:
        s[_L0] = lit_s
    elif kind == CARBON:
        s[_C0] = passed_m3


@compiled
def _serve_hidden(s: Floats, f: Floats, kind: int, lit_s: float) -> None:
    if kind != 1:
        _wipe(s, f, _S)
    if kind != 0:
        _wipe(s, f, _W)
    if kind == 3:
        s[_L0] = lit_s


@compiled
def _logs(
    path: Ints,
    fields: Floats,
    gap: Ints,
    hidden: Ints,
    lit: Floats,
    between: Floats,
    passed: Floats,
    tint: Floats,
    dirt: Floats,
    water_c: Floats,
    kind: Ints,
    value: Floats,
    step: Floats,
    unit: Floats,
    temper: Floats,
    result: Floats,
    states: Floats,
    expected: Floats,
) -> None:
    """Walk every draw through readings and services: log likelihood, and where it stands after the last."""
    keep = expected.shape[0] > 0
    for i in range(path.size):
        p, total, f, s = path[i], 0.0, fields[i], states[i]
        s[_S], s[_SF] = f[_SLEEVE] * f[_SLEEVE_HEAD], 0.0
        s[_W], s[_WF] = f[_WINDOW] * f[_WINDOW_HEAD], 0.0
        s[_L0], s[_C0] = -f[_LAMP_HEAD], 0.0
        now, seen = 0.0, 0
        for k in range(kind.size):
            if kind[k] <= LAST_READ and gap[i] >= 0 and gap[i] == seen - 1 and between[p, gap[i]] >= now:
                _grow(s, f, between[p, gap[i]] - now)
                now = between[p, gap[i]]
                _serve_hidden(s, f, hidden[i], now)
            _grow(s, f, lit[p, k] - now)
            now = lit[p, k]
            if kind[k] > LAST_READ:
                _serve(s, f, kind[k], now, passed[p, k])
                continue
            absorbance = absorbance_after(tint[p, k], dirt[p, k], passed[p, k] - s[_C0], f, unit)
            light = light_of(now - s[_L0], s[_S] + s[_SF], s[_W] + s[_WF], water_c[p, k], absorbance, f, unit)
            if keep:
                expected[i, seen] = light
            scale = math.sqrt(f[_SCATTER] * f[_SCATTER] + step[k] * step[k] / 12.0)
            if kind[k] == HOURS:
                total += temper[seen] * likelihood.log_lit(value[k], now - s[_L0])
            elif kind[k] == READ:
                total += temper[seen] * likelihood.log_light(value[k], light, scale)
            else:
                total += temper[seen] * likelihood.log_alarm(value[k], light, unit[_ALARM], f[_SCATTER])
            seen += 1
        result[i], s[_NOW] = total, now


def logs(
    part: UvPart,
    draws: Mapping[str, Floats],
    path: Ints,
    found: Moments,
    paths: Paths,
    temper: Floats,
    keep: bool = False,
) -> tuple[Floats, Floats, Floats]:
    """Return log likelihood, state after the last moment, and on request what is expected of each reading.

    Parameters
    ----------
    path : ndarray
        Path of each draw.
    temper : ndarray
        Weight of each reading, above 0 to 1.
    """
    size = found.readings
    result, states = np.zeros(path.size), np.zeros((path.size, len(STATE)))
    expected = np.zeros((path.size if keep else 0, size))
    fields = np.ascontiguousarray(np.vstack([draws[name] for name in FIELDS]).T)
    gap, hidden = hidden_of(draws["hidden"], size)
    at = found.at_days[found.kind <= LAST_READ]
    middle = np.append(0.5 * (at[1:] + at[:-1]), 0.0)
    _logs(
        path,
        fields,
        gap,
        hidden,
        paths.sum_at("lit_s", found.at_days),
        paths.sum_at("lit_s", middle),
        paths.sum_at("passed_m3", found.at_days),
        paths.end_of("tint_per_m", found.at_days),
        paths.end_of("dirt_kg_m3", found.at_days),
        paths.end_of("water_c", found.at_days),
        found.kind,
        found.value,
        found.step,
        part.unit.packed(),
        temper,
        result,
        states,
        expected,
    )
    return result + log_hidden(gap, even(size), HIDDEN_CHANCE), states, expected


def hidden_of(hidden: Floats, readings: int) -> tuple[Ints, Ints]:
    """Return the gap in which a service was not noted, -1 for none, and which it was."""
    gaps = readings - 1
    if gaps < 1:
        none = np.full(hidden.shape, -1, dtype=np.int64)
        return none, none
    place = (hidden / HIDDEN_DRAWN * gaps * HIDDEN_KINDS).astype(np.int64)
    place = np.minimum(place, gaps * HIDDEN_KINDS - 1)
    return np.where(hidden < HIDDEN_DRAWN, place // HIDDEN_KINDS, -1), place % HIDDEN_KINDS


@compiled
def _ahead(
    path: Ints,
    fields: Floats,
    states: Floats,
    lit: Floats,
    passed: Floats,
    tint: Floats,
    dirt: Floats,
    water_c: Floats,
    unit: Floats,
    light: Floats,
    dose: Floats,
) -> None:
    for i in range(path.size):
        p, f, s = path[i], fields[i], states[i]
        for k in range(lit.shape[1]):
            since = lit[p, k] - s[_NOW]
            sleeve, window = s[_S] + s[_SF] + f[_SLEEVE] * since, s[_W] + s[_WF] + f[_WINDOW] * since
            absorbance = absorbance_after(tint[p, k], dirt[p, k], passed[p, k] - s[_C0], f, unit)
            lamp_s = lit[p, k] - s[_L0]
            light[i, k] = light_of(lamp_s, sleeve, window, water_c[p, k], absorbance, f, unit)
            dose[i, k] = dose_share(lamp_s, sleeve, water_c[p, k], absorbance, f, unit)


def ahead(
    part: UvPart, draws: Mapping[str, Floats], path: Ints, states: Floats, paths: Paths, at_days: Floats
) -> tuple[Floats, Floats]:
    """Return reading and dose at rated flow [J/m2] at times after the last moment, shape (draws, times).

    Parameters
    ----------
    states : ndarray
        Where each draw stands after the last moment, from `logs`.
    at_days : ndarray
        Times since the begin [d].
    """
    fields = np.ascontiguousarray(np.vstack([draws[name] for name in FIELDS]).T)
    light, dose = np.zeros((path.size, at_days.size)), np.zeros((path.size, at_days.size))
    _ahead(
        path,
        fields,
        states,
        paths.sum_at("lit_s", at_days),
        paths.sum_at("passed_m3", at_days),
        paths.end_of("tint_per_m", at_days),
        paths.end_of("dirt_kg_m3", at_days),
        paths.end_of("water_c", at_days),
        part.unit.packed(),
        light,
        dose,
    )
    return light, dose * part.unit.dose_new_j_m2
