"""A cartridge laid along the paths: its drop in the past and ahead, for many draws of what is not known."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.compiled import compiled
from sim.constants import DAY_S, GRAVITY_M_S2
from sim.diary.parts import likelihood
from sim.diary.parts.axes import SETTLING_DAYS, Axis, head, normal, of_span, uniform
from sim.diary.parts.cartridges import capacity_factors, growths
from sim.diary.parts.unnoted import hidden_gap, log_hidden
from sim.diary.paths import Paths
from sim.plant import cartridge, train, water
from sim.scenario.scenario import Scenario
from sim.scenario.train import Stage
from sim.scenario.values.variants import Span
from sim.twin.clean_stage import clean
from sim.twin.due_drop import reading_flow_m3_s
from sim.units import PSI_PA

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
ONE_TAP_CV = 0.13  # drop over drop when "one tap, about so much" is read: flow within 10 %, power 1.3 [A]
OTHERS_SD_PA = 1.5 * PSI_PA  # of the pressure that other stages leave, as it is read off [A]
STATED_CV = 0.03  # when the flow was measured with bucket and watch [A]
GAUGE_BIAS = 0.25  # of the gauge's scatter: a dial that reads high reads high every time [A]


@dataclass(frozen=True)
class Drops:
    """Readings of the drop over one stage, in order of time.

    Attributes
    ----------
    at_days : ndarray
        Times since the begin of the paths [d].
    drop_pa, step_pa : ndarray
        What was read, and to what it was rounded.
    flow_m3_s : ndarray
        Flow at which it was read; nan for the usual tap.
    gauges : ndarray
        2 where two gauges were read and subtracted, else 1.
    others_pa : ndarray
        Drop read over the other stages at the same time; nan where it was not.
    gap_shares : ndarray
        Of the draws with a change that was not noted, by the gap between readings it is drawn in.
    """

    at_days: Floats
    drop_pa: Floats
    step_pa: Floats
    flow_m3_s: Floats
    gauges: Floats
    others_pa: Floats
    gap_shares: Floats


@dataclass(frozen=True)
class Along:
    """What the paths say at the times of readings and at services of this stage.

    Attributes
    ----------
    mass : ndarray
        Mass caught since the begin, shape (paths, readings) [kg].
    base : ndarray
        What of it noted changes and rinses took away, likewise.
    fresh : ndarray
        Share of what lay there at the begin that is gone by the reading, shape (readings,).
    between : ndarray
        Mass caught by the middle between two readings, shape (paths, readings).
    thicker : ndarray
        Viscosity over that at 20 C, shape (paths, readings).
    daily : ndarray
        Mean mass caught a day, shape (paths, 2): over all days, and over those up to the first line.
    """

    mass: Floats
    base: Floats
    fresh: Floats
    between: Floats
    thicker: Floats
    daily: Floats


_TABLE_C = np.linspace(0.0, 45.0, 451)
_TABLE = np.array([water.viscosity_pa_s(float(t)) for t in _TABLE_C]) / water.viscosity_pa_s(20.0)


def thicker(water_c: Floats) -> Floats:
    """Return viscosity over that at 20 C."""
    return np.interp(water_c, _TABLE_C, _TABLE)


@dataclass(frozen=True)
class StagePart:
    """One stage of a site: what is known of it, and the axes of what is not."""

    number: int
    stage: Stage
    axes: tuple[Axis, ...]
    reading_flow_m3_s: float
    spare_pa: float  # pressure at cut-in less the lift to the taps
    others_pa_s_m3: float  # of the other clean stages [Pa s/m3]
    others_pa_s2_m6: float  # of stages and UV unit [Pa s2/m6]
    settled_days: float = SETTLING_DAYS  # from the begin of the paths to the first line of the diary

    @property
    def name(self) -> str:
        """Name of the stage."""
        return self.stage.name

    def draws(self, z: Floats) -> dict[str, Floats]:
        """Return draws of what is not known, from standard normal numbers."""
        found = {axis.name: axis.at(z[:, k]) for k, axis in enumerate(self.axes)}
        rated_pa = found["linear"] * self.stage.rated_flow_m3_s
        ratio = 1.0 + self.stage.terminal_rise_pa / rated_pa
        found["growth"] = growths(found["exponent"], ratio)
        found["capacity"] = found["capacity"] * capacity_factors(
            found["own"], found["unlike"], self.stage.housings
        )
        return found


def stage_part(
    scenario: Scenario, number: int, spans: Mapping[str, Span], settled_days: float = SETTLING_DAYS
) -> StagePart:
    """Return a stage of a site as a part, its first line so many days after the begin of the paths."""
    stage, unit = scenario.stages[number], scenario.uv
    key = f"stage[{stage.name}]"

    def axis(name: str, field: str, value: float) -> Axis:
        many = stage.housings
        factor = {"linear": 1.0 / many, "quadratic": 1.0 / many**2, "capacity": float(many)}.get(name, 1.0)
        plain = of_span(name, spans.get(f"{key}.{field}"), value)
        return Axis(name, lambda z: factor * plain.at(z))

    axes = (
        axis("linear", "clean_linear", stage.linear_pa_s_m3),
        axis("quadratic", "housing_quadratic", stage.quadratic_pa_s2_m6),
        axis("capacity", "dirt_capacity", stage.dirt_capacity_kg),
        axis("exponent", "law", stage.exponent),
        axis("plateau", "plateau", stage.plateau),
        normal("own"),
        axis("unlike", "capacity_cv", stage.capacity_cv),
        of_span("scatter", spans.get("gauge.reading_sd"), scenario.gauge.reading_sd_pa),
        normal("bias", GAUGE_BIAS * scenario.gauge.reading_sd_pa),
        head("head", stage.age_limit_s / DAY_S, settled_days),
        uniform("hidden", 0.0, 1.0),
    )
    others = [clean(one) for k, one in enumerate(scenario.stages) if k != number]
    linear, quadratic = sum(one for one, _ in others), sum(one for _, one in others)
    lift_pa = water.density_kg_m3(15.0) * GRAVITY_M_S2 * scenario.house.lift_m
    return StagePart(
        number,
        stage,
        axes,
        reading_flow_m3_s(scenario),
        scenario.switch.cut_in_pa - lift_pa,
        linear + unit.linear_pa_s_m3,
        quadratic + unit.quadratic_pa_s2_m6 + unit.restrictor_pa_s2_m6,
        settled_days,
    )


def along(part: StagePart, paths: Paths, at_days: Floats, renewals: Floats) -> Along:
    """Return what the paths say at times, with the changes and rinses that were noted.

    Parameters
    ----------
    renewals : ndarray
        Time since the begin [d] and share of the load that was taken away, 1 for a change; in order of time,
        shape (renewals, 2).
    """
    mass = paths.sum_at(part.number, at_days)
    base, fresh = np.zeros_like(mass), np.zeros(at_days.size)
    gone = paths.sum_at(part.number, renewals[:, 0])
    for k, (day, share) in enumerate(renewals):
        later = at_days >= day
        base[:, later] += share * (gone[:, k : k + 1] - base[:, later])
        fresh[later] = 1.0 - (1.0 - fresh[later]) * (1.0 - share)
    middle = np.append(0.5 * (at_days[1:] + at_days[:-1]), at_days[-1:] if at_days.size else [])
    between = paths.sum_at(part.number, middle)
    whole = paths.sums[:, -1, -len_stages(paths) + part.number] / paths.days
    settled_days = max(part.settled_days, 1.0)
    early = paths.sum_at(part.number, np.array([settled_days]))[:, 0] / settled_days
    daily = np.column_stack([whole, early])
    return Along(mass, base, fresh, between, thicker(paths.end_of("water_c", at_days)), daily)


def len_stages(paths: Paths) -> int:
    """Return the number of stages the paths carry."""
    return int(paths.sums.shape[2]) - 5


@compiled
def drop_pa(
    load: float,
    thick_factor: float,
    linear_pa_s_m3: float,
    quadratic_pa_s2_m6: float,
    exponent: float,
    plateau_share: float,
    growth: float,
    flow_m3_s: float,
    spare_pa: float,
    others_pa_s_m3: float,
    others_pa_s2_m6: float,
) -> float:
    """Return the drop over a stage at a flow, or at what the train lets through.

    Parameters
    ----------
    load : float
        Caught mass over capacity.
    thick_factor : float
        Viscosity over that at 20 C.
    flow_m3_s : float
        Flow that is wanted.
    spare_pa : float
        Pressure there is for it.
    """
    own = linear_pa_s_m3 * thick_factor * cartridge.resistance_ratio(load, exponent, growth, plateau_share)
    most = train.flow_m3_s(
        spare_pa, own + thick_factor * others_pa_s_m3, quadratic_pa_s2_m6 + others_pa_s2_m6
    )
    return train.drop_pa(min(flow_m3_s, most), own, quadratic_pa_s2_m6)


@compiled
def _logs(
    path: Ints,
    fields: Floats,
    gap: Ints,
    mass: Floats,
    base: Floats,
    fresh: Floats,
    between: Floats,
    thick: Floats,
    daily: Floats,
    pipe: Floats,
    data: Floats,
    others_pa_s_m3: float,
    others_pa_s2_m6: float,
    temper: Floats,
    found: Floats,
    expected: Floats,
) -> None:
    """Fill the log likelihood of each draw, and what it expects of each reading where there is room."""
    keep = expected.shape[0] > 0
    for i in range(path.size):
        p, total = path[i], 0.0
        linear, quadratic, capacity = fields[0, i], fields[1, i], fields[2, i]
        for k in range(mass.shape[1]):
            since = base[p, k]
            before = (1.0 - fresh[k]) * fields[8, i] * daily[p, 1 if fields[8, i] < 0.0 else 0]
            if gap[i] >= 0 and gap[i] < k and between[p, gap[i]] > since:
                since, before = between[p, gap[i]], 0.0
            load = (mass[p, k] - since + before) / capacity
            drop = drop_pa(
                load, thick[p, k], linear, quadratic, fields[3, i], fields[4, i], fields[5, i], data[2, k],
                data[5, k], others_pa_s_m3, others_pa_s2_m6 + pipe[p],
            )  # fmt: skip
            scatter = fields[6, i]
            scale = math.sqrt(
                scatter * scatter * data[4, k] + data[1, k] * data[1, k] / 12.0 + (data[3, k] * drop) ** 2
            )
            if keep:
                expected[i, k] = drop + fields[7, i]
            total += temper[0, k] * likelihood.log_drop(data[0, k], drop + fields[7, i], scale, temper[1, k])
        found[i] = total


def left_for(part: StagePart, drops: Drops) -> Floats:
    """Return the pressure there is for each reading [Pa]: a clogged stage beside it takes its share.

    Notes
    -----
    Less the drop that was read over the others at the same time, beyond what they show when clean.
    """
    flow = part.reading_flow_m3_s
    clean_pa = train.drop_pa(flow, part.others_pa_s_m3, part.others_pa_s2_m6)
    beyond = np.maximum(np.nan_to_num(drops.others_pa) - clean_pa, 0.0)
    return np.maximum(part.spare_pa - beyond, OTHERS_SD_PA)


def spread_of(part: StagePart, drops: Drops) -> Floats:
    """Return the scatter of each reading over the drop: by its flow, and by what others left for it."""
    own = np.where(np.isfinite(drops.flow_m3_s), STATED_CV, ONE_TAP_CV)
    left = left_for(part, drops)
    return np.where(left < part.spare_pa, np.hypot(own, OTHERS_SD_PA / left), own)


FIELDS = ("linear", "quadratic", "capacity", "exponent", "plateau", "growth", "scatter", "bias", "head")


def side_by_side(draws: Mapping[str, Floats]) -> Floats:
    """Return what compiled code reads of draws, a row a field of `FIELDS`."""
    return np.ascontiguousarray(np.vstack([draws[name] for name in FIELDS]))


def logs(
    part: StagePart,
    draws: Mapping[str, Floats],
    path: Ints,
    found: Along,
    drops: Drops,
    paths: Paths,
    temper: Floats,
    keep: bool = False,
) -> tuple[Floats, Floats]:
    """Return the log likelihood of draws, and on request what each expects of each reading [Pa].

    Parameters
    ----------
    path : ndarray
        Path of each draw.
    temper : ndarray
        Weight of each reading and power of its honest density, above 0 to 1, shape (2, readings).
    """
    size = drops.at_days.size
    result, expected = np.zeros(path.size), np.zeros((path.size if keep else 0, size))
    stated = np.isfinite(drops.flow_m3_s)
    data = np.vstack(
        [
            drops.drop_pa,
            drops.step_pa,
            np.where(stated, drops.flow_m3_s, part.reading_flow_m3_s),
            spread_of(part, drops),
            drops.gauges,
            left_for(part, drops),
        ]
    )
    fields = side_by_side(draws)
    gap = hidden_gap(draws["hidden"], drops.gap_shares)
    _logs(
        path, fields, gap, found.mass, found.base, found.fresh, found.between, found.thicker, found.daily,
        paths.pipe_quadratic, data, part.others_pa_s_m3, part.others_pa_s2_m6, temper, result, expected,
    )  # fmt: skip
    return result + log_hidden(gap, drops.gap_shares), expected
