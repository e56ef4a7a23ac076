"""What one run came to: one row of figures a year, the same for every policy."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sim.constants import DAY_S
from sim.outcome.causes import PEOPLE, by_cause, days_of_two_causes, excess_by_cause, people_days
from sim.outcome.drawn import Drawn, drawn
from sim.outcome.sizing import sizing
from sim.outcome.unusable import unusable_days, unusable_from_day
from sim.plant import cause, state
from sim.scenario.values.ranges import outside, rain_outside
from sim.twin.history import History
from sim.twin.records import Event
from sim.twin.standby import TOOK_OVER

J_PER_KWH = 3.6e6
Row = dict[str, float | int | str]


def below_target_days(history: History) -> np.ndarray:
    """Return which days count as days below the dose target."""
    limit: float = history.scenario.goals.below_target_volume_m3
    found: np.ndarray = history.days[:, state.BELOW_TARGET] > limit
    return found


def _uv_j(history: History) -> float:
    """Return what the UV units drew; the ballast of a dark one draws on."""
    unit = history.scenario.uv
    return float(history.lit_s * unit.power_w * unit.units)


def _money(history: History, years: float) -> Row:
    sc, costs = history.scenario, history.costs
    prices = sc.prices
    lamp_price = next((task.part_price for task in sc.tasks if "new lamp" in task.effects), 0.0)
    stage_prices = np.array([stage.price * stage.housings for stage in sc.stages])
    lamp_price *= sc.uv.units
    worn = float(stage_prices @ (1.0 - history.stage_life_left)) + lamp_price * (1.0 - history.lamp_life_left)
    items = {
        "cost_parts": costs.parts,
        "cost_part_life": worn,
        "cost_labour": costs.labour,
        "cost_callouts": costs.callouts,
        "cost_energy": prices.electricity_kwh * (history.pump_j + _uv_j(history)) / J_PER_KWH,
        "cost_water": costs.water + prices.mains_m3 * float(history.mains_m3.sum()),
    }
    yearly: Row = {name: value / years for name, value in items.items()}
    return {"cost": sum(items.values()) / years, **yearly}


def _water(history: History, draws: Drawn, years: float) -> Row:
    days, below, unusable = history.days, below_target_days(history), unusable_days(history)
    flowing = days[np.isfinite(days[:, state.DOSE_LEAST]), state.DOSE_LEAST]
    total = days.sum(axis=0)
    cistern = history.scenario.cistern
    empty = history.cistern_m3 <= cistern.intake_m * cistern.floor_m2 * (1 + 1e-9)
    return {
        "water_off_h": total[state.WATER_OFF] / 3600.0 / years,
        "water_off_home_h": _with_someone_home(draws, days[:, state.WATER_OFF]) / 3600.0 / years,
        "unusable_days": float(unusable.sum()) / years,
        "unusable_from_day": unusable_from_day(unusable),
        "alarm_h": total[state.ALARM] / 3600.0 / years,
        "low_light_h": total[state.LOW_LIGHT] / 3600.0 / years,
        "days_below_target": float(below.sum()) / years,
        "silent_days": float((below & ~history.alarm_days).sum()) / years,
        "volume_below_target_m3": total[state.BELOW_TARGET] / years,
        "least_dose_j_m2": float(flowing.min()) if flowing.size else float("nan"),
        "alarms": history.alarms / years,
        "false_alarms": history.false_alarms / years,
        "low_pressure_min": total[state.LOW_PRESSURE] / 60.0 / years,
        "cistern_empty_days": float(empty.sum()) / years,
        "overflow_m3": float(history.overflow_m3.sum()) / years,
        "tanker_loads": history.costs.tanker_loads / years,
        "supplied_m3": total[state.SUPPLIED] / years,
        "unmet_m3": total[state.UNMET] / years,
        "unmet_draws": total[state.UNMET_DRAWS] / years,
    }


def _with_someone_home(draws: Drawn, per_day: np.ndarray) -> float:
    """Return the sum over the days on which water was drawn."""
    midnights_s = np.arange(per_day.size + 1) * DAY_S
    home = np.diff(np.searchsorted(draws.start_s, midnights_s)) > 0
    return float(per_day[home].sum())


def _people(history: History, years: float) -> Row:
    slips = [lapse for lapse in history.lapses if lapse.kind == "slip"]
    pressed = [slip.name for slip in history.scenario.slips if slip.effect == "spill under pressure"]
    off_s = history.causes[:, list(PEOPLE), cause.OFF].sum()
    return {
        "people_days_below_target": people_days(history) / years,
        "people_water_off_h": float(off_s) / 3600.0 / years,
        "slips": len(slips) / years,
        "slips_noticed": sum(np.isfinite(slip.noticed_s) for slip in slips) / years,
        "openings_under_pressure": sum(slip.subject in pressed for slip in slips) / years,
        "tasks_put_off": sum(lapse.kind == "put off" for lapse in history.lapses) / years,
        "samples": history.costs.samples / years,
        "samples_with_finds": history.costs.finds / years,
    }


def pump_out_days(history: History) -> np.ndarray:
    """Return on which days no pump worked, to the day on which it was mended."""
    found = np.zeros(history.n_days, dtype=bool)
    mended = [event.time_s for event in _pump_works(history)]
    for event in history.events:
        if event.kind == "failure" and event.subject == "pump" and event.note != TOOK_OVER:
            end_s = next((time_s for time_s in mended if time_s >= event.time_s), np.inf)
            found[int(event.time_s / DAY_S) : int(min(end_s / DAY_S, history.n_days - 1.0)) + 1] = True
    return found


def _pump_works(history: History) -> list[Event]:
    """Return the works that put a new pump in."""
    names = {task.name for task in history.scenario.tasks if "new pump" in task.effects}
    return [event for event in history.events if event.kind == "task" and event.subject in names]


def _pump(history: History, years: float) -> Row:
    days, events = history.days, history.events
    off_s = days[pump_out_days(history), state.WATER_OFF].sum()
    return {
        "pump_starts": float(days[:, state.STARTS].sum()) / years,
        "short_runs": float(days[:, state.SHORT_RUNS].sum()) / years,
        "longest_run_s": float(days[:, state.LONGEST_RUN].max()),
        "pump_kwh": history.pump_j / J_PER_KWH / years,
        "pump_failures": sum(e.kind == "failure" and e.subject == "pump" for e in events) / years,
        "pump_callouts": sum("technician" in one.note for one in _pump_works(history)) / years,
        "pump_water_off_h": float(off_s) / 3600.0 / years,
        "uv_kwh": _uv_j(history) / J_PER_KWH / years,
    }


def _expected(history: History, draws: Drawn, years: float) -> Row:
    """Return days below the dose target with chances in place of what was met, and what was met above."""
    excess = excess_by_cause(history, draws, years)
    below = float(below_target_days(history).sum()) / years
    return {"days_expected": below - sum(excess.values()), **excess}


def row(
    history: History, metered: Mapping[str, Any] | None = None, beyond: Sequence[str] | None = None
) -> Row:
    """Return the figures of one run, rates per year.

    Returns
    -------
    dict
        Policy, replication, years, money by item, hours of water off, of alarm and of too little light, days
        and volume below the dose target, alarms, pump, upkeep, supply, what people caused, each cause by
        itself, what sizes are judged by, the worst ledger error over throughput, and the names of inputs
        outside the ranges in which they are believed.
    """
    years = float(history.years)
    upkeep: Row = {
        "cartridges": history.costs.cartridges / years,
        "visits": history.costs.visits / years,
        "owner_h": history.costs.owner_s / 3600.0 / years,
    }
    draws = drawn(history)
    inputs = outside(history.scenario, draws=metered) if beyond is None else beyond
    return {
        "policy": history.policy,
        "replication": history.replication,
        "years": years,
        **_money(history, years),
        **_water(history, draws, years),
        **_pump(history, years),
        **upkeep,
        **_people(history, years),
        **by_cause(history, years),
        "days_of_two_causes": days_of_two_causes(history) / years,
        **_expected(history, draws, years),
        **sizing(history, draws),
        "ledger_error": max(balance.error for balance in history.balances),
        "extrapolated": "; ".join((*inputs, *rain_outside(history.rain_m))),
    }
