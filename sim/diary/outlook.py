"""What comes of a part from today on, by draw: its state now, and the day on which it must be seen to."""

import math
from dataclasses import dataclass, replace

import numpy as np

from sim.constants import DAY_S
from sim.diary.infer import Evidence, Posterior
from sim.diary.parts import stage_ahead, uv
from sim.diary.parts.axes import Floats
from sim.diary.parts.stage import StagePart, thicker
from sim.diary.parts.uv import UvPart
from sim.diary.paths import Paths
from sim.scenario.scenario import Scenario

HORIZON_DAYS = 730  # no date is told beyond
PEAK_DAYS = 30  # the strongest flow of the last month is that of a peak


@dataclass(frozen=True)
class StageOutlook:
    """One cartridge, by draw.

    Attributes
    ----------
    used_share : ndarray
        Share of its life that is used, 0 to above 1.
    drop_pa : ndarray
        Drop now at the flow at which it is read.
    drop_days : ndarray
        Days from today to the limit of the drop, `HORIZON_DAYS` for later.
    days : ndarray
        Days from today to the limit of the drop or of its age, likewise.
    limit_pa : float
        Limit of the drop.
    age_days_left : float
        Days to the limit of its age; infinite where no change is noted.
    """

    used_share: Floats
    drop_pa: Floats
    drop_days: Floats
    days: Floats
    limit_pa: float
    age_days_left: float


@dataclass(frozen=True)
class UvOutlook:
    """The UV unit, by draw.

    Attributes
    ----------
    light, dose_j_m2 : ndarray
        Reading of new and clean and dose at rated flow, by draw and day from today on.
    peak_dose_j_m2 : ndarray
        Dose today at the strongest flow of the last month.
    sleeve_share, window_share : ndarray
        Light that films on sleeve and window let through today.
    lamp_s : ndarray
        Lit time of the lamp today.
    alarm_days, target_days, lamp_days : ndarray
        Days from today until the alarm, until the dose is below target, until the rated life of the lamp is
        over; `HORIZON_DAYS` for later.
    """

    light: Floats
    dose_j_m2: Floats
    peak_dose_j_m2: Floats
    sleeve_share: Floats
    window_share: Floats
    lamp_s: Floats
    alarm_days: Floats
    target_days: Floats
    lamp_days: Floats


def without_use(paths: Paths, from_days: float, to_days: float) -> Paths:
    """Return paths in which nobody draws water for a time; the lamp stays lit.

    Parameters
    ----------
    from_days, to_days : float
        Days since the begin.
    """
    sums = paths.sums.copy()
    first, last = (int(min(max(day, 0), paths.days)) for day in (from_days, to_days))
    drawn = [k for k in range(sums.shape[2]) if k not in (2, 3)]  # rain and light go on
    used = sums[:, first : first + 1, drawn]
    gone = sums[:, last : last + 1, drawn] - used
    sums[:, last:, drawn] -= gone
    sums[:, first:last, drawn] = used
    return replace(paths, sums=sums)


def light_limit(scenario: Scenario) -> float:
    """Return the UV reading at which sleeve and window are wiped: that of the alarm."""
    return float(scenario.uv.alarm)


def stage_outlook(
    part: StagePart, found: Posterior, paths: Paths, evidence: Evidence, today_days: float, limit_pa: float
) -> StageOutlook:
    """Return what comes of a cartridge.

    Parameters
    ----------
    today_days : float
        Today, in days since the begin of the paths.
    """
    k = part.number
    readings, renewals = evidence.drops[k], evidence.renewals[k]
    days = today_days + np.arange(HORIZON_DAYS + 1.0)
    load = stage_ahead.load_at(part, found.draws, found.path, paths, readings, renewals, days[:1])[:, 0]
    over = stage_ahead.first_over(part, found.draws, found.path, paths, load, days, limit_pa)
    changed = renewals[renewals[:, 1] >= 1.0, 0]
    limit_days = part.stage.age_limit_s / DAY_S
    age_left = float(changed[-1] + limit_days - today_days) if changed.size else math.inf
    later = np.minimum(over, HORIZON_DAYS).astype(np.int64)
    mass = paths.sum_at(k, days)
    to_come = mass[found.path, later] - mass[found.path, 0]
    at_limit = np.where(np.isfinite(over), load + to_come / found.draws["capacity"], np.maximum(load, 1.0))
    used = np.where(over == 0, np.maximum(load / np.maximum(at_limit, 1e-9), 1.0), load / at_limit)
    age_used = 1.0 - age_left / limit_days if math.isfinite(age_left) else 0.0
    return StageOutlook(
        np.maximum(used, age_used),
        _drop_now(part, found, paths, load, today_days),
        np.clip(over, 0.0, HORIZON_DAYS),
        np.clip(np.minimum(over, age_left), 0.0, HORIZON_DAYS),
        limit_pa,
        age_left,
    )


def _drop_now(part: StagePart, found: Posterior, paths: Paths, load: Floats, today_days: float) -> Floats:
    thick = thicker(paths.end_of("water_c", np.array([today_days])))[found.path, 0]
    return stage_ahead.drops_now(part, found.draws, found.path, paths, load, thick)


def uv_outlook(
    scenario: Scenario, part: UvPart, found: Posterior, paths: Paths, evidence: Evidence, today_days: float
) -> UvOutlook:
    """Return what comes of the UV unit.

    Parameters
    ----------
    today_days : float
        Today, in days since the begin of the paths.
    """
    temper = np.ones(evidence.uv.readings)
    _, states, _ = uv.logs(part, found.draws, found.path, evidence.uv, paths, temper)
    days = today_days + np.arange(HORIZON_DAYS + 1.0)
    light, dose = uv.ahead(part, found.draws, found.path, states, paths, days)
    lit = paths.sum_at("lit_s", days)[found.path]
    now = {name: states[:, place] for place, name in enumerate(uv.STATE)}
    since = lit[:, 0] - now["lit_s"]
    lamp_s = lit - now["lamp_from_s"][:, None]
    month = today_days - np.arange(PEAK_DAYS)
    peak = paths.end_of("peak_flow_m3_s", np.maximum(month, 0.0)).max(axis=1)[found.path]
    return UvOutlook(
        light,
        dose,
        dose[:, 0] * part.unit.rated_flow_m3_s / np.maximum(peak, 1e-9),
        np.exp(-(now["sleeve"] + now["sleeve_fixed"] + found.draws["sleeve_per_s"] * since)),
        np.exp(-(now["window"] + now["window_fixed"] + found.draws["window_per_s"] * since)),
        lamp_s[:, 0],
        first_day(light < light_limit(scenario)),
        first_day(dose < part.target_j_m2),
        first_day(lamp_s > scenario.uv.rated_life_s),
    )


def first_day(passed: np.ndarray) -> Floats:
    """Return the number of the first day on which something holds, `HORIZON_DAYS` where on none."""
    found = np.where(passed.any(axis=1), passed.argmax(axis=1), HORIZON_DAYS)
    return np.minimum(found, HORIZON_DAYS).astype(np.float64)
