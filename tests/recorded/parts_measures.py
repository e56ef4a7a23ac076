"""What ours gives for each recorded quantity of cartridges, power cuts, lamps and pumps."""

import dataclasses
import math
from collections.abc import Callable
from functools import cache, partial

import numpy as np
from scipy.stats import norm, weibull_min

from sim.constants import YEAR_S
from sim.outcome.measures import row
from sim.plant import cartridge, lamp
from sim.scenario.read.load import load, load_text
from sim.scenario.values.numbers import with_values
from sim.scenario.values.quantity import Law, Names
from sim.scenario.values.variants import spans
from sim.twin.basis import basis_of
from sim.twin.common import _cuts
from sim.twin.run import common_inputs, run

TABLES = ("clogging", "power", "parts")
BASE = load_text('extends = "base"', "base")
STAGE = {stage.name: stage for stage in BASE.stages}
END_RATIO = 31.7  # of the recorded runs: R/R0 at 600 Pa
NAMED = next(mark.numbers for mark in Law.__metadata__ if isinstance(mark, Names))
CUT_YEARS = 400_000  # so that a mean with so long a tail is known to half a per cent
NORMALS = norm.ppf((np.arange(4000) + 0.5) / 4000)  # evenly over chance
LAMP_S = 12_000 * 3600.0


def grown(exponent: float, plateau: float, load_share: float) -> float:
    """Resistance over clean, the law brought to the ratio at which the recorded runs end."""
    return cartridge.resistance_ratio(
        load_share, exponent, cartridge.growth_for(exponent, END_RATIO), plateau
    )


def capacity_cv() -> float:
    """Spread of the capacity of like sediment cartridges."""
    cv = STAGE["sediment"].capacity_cv
    found = [cartridge.capacity_factor(z, cv, 1.0) for z in NORMALS]
    return float(np.std(found) / np.mean(found))


@cache
def cuts(saifi: float, saidi_min: float) -> dict[str, float]:
    """What a house meets that states these indices; base.toml's own where they are nan."""
    stated = {} if math.isnan(saifi) else {"power.saifi": saifi, "power.saidi": saidi_min * 60.0}
    found = _cuts(basis_of(with_values(BASE, stated)), round(CUT_YEARS * 365.25), 1, 0)
    minutes = (found[:, 1] - found[:, 0]) / 60.0
    counted = minutes[minutes > 5.0]
    return {
        "saifi": counted.size / CUT_YEARS,
        "saidi": float(counted.sum()) / CUT_YEARS,
        "caidi": float(counted.mean()),
    }


def lamp_output(output_at_end: float) -> float:
    """Output after 12,000 h of a lamp that has this at the end of its rated life."""
    unit = BASE.uv
    tau_s = lamp.time_constant_from(output_at_end / (1.0 - unit.burn_in_loss), unit.rated_life_s)
    return lamp.output(LAMP_S, tau_s, unit.burn_in_s, unit.burn_in_loss)


def best_lamp() -> float:
    """The good end of what `--uncertain` draws."""
    return next(span.high for span in spans(BASE) if span.key == "uv.output_at_end")


@cache
def pump_life(site: str) -> tuple[float, float, float]:
    """Ages by which a twentieth, half and all but a twentieth of the pumps have failed, used as in a run."""
    scenario = load(site)
    common = common_inputs(scenario, 0, 1, 2)
    never = dict.fromkeys(common.lives, np.full(64, 1e12))
    history = run(scenario, scenario.policies[0], dataclasses.replace(common, lives=never))
    use, of = row(history), scenario.pump
    starts = use["pump_starts"] + of.short_run_wear_factor * use["short_runs"]
    run_s = float(np.diff(history.pump_runs_s, axis=1).sum()) / use["years"]
    laws = [
        weibull_min(of.life_shape, scale=scale)
        for scale in (of.life_age_s / YEAR_S, of.life_s / run_s, of.life_start_count / starts)
    ]
    years = np.linspace(0.0, 60.0, 60_001)
    alive = np.prod([law.sf(years) for law in laws], axis=0)
    return tuple(float(np.interp(-share, -alive, years)) for share in (0.95, 0.5, 0.05))  # type: ignore[return-value]


def _measures() -> dict[str, Callable[[], float]]:
    sediment, carbon = STAGE["sediment"], STAGE["carbon"]
    laws = {
        "sediment": (sediment.exponent, sediment.plateau),
        "carbon": (carbon.exponent, carbon.plateau),
        "standard": (NAMED["standard"], 0.0),
        "complete": (NAMED["complete"], 0.0),
    }
    found: dict[str, Callable[[], float]] = {
        f"{name}_{share}": partial(grown, *law, share / 100.0)
        for name, law in laws.items()
        for share in (25, 50, 75, 90)
    }
    found |= {"exponent": lambda: sediment.exponent, "capacity_cv": capacity_cv}
    for name in ("saifi", "saidi", "caidi"):
        found[name] = lambda name=name: cuts(math.nan, math.nan)[name]
        found[f"{name}_plain"] = lambda name=name: cuts(1.034, 117.45)[name]
    found["lamp_good"] = lambda: lamp_output(best_lamp())
    found["lamp_usual"] = lambda: lamp_output(BASE.uv.output_at_end)
    for site in ("family_house", "cottage", "training_hall"):  # those there were when it was fitted
        found[f"pump_{site}"] = lambda site=site: pump_life(site)[1]
    found["pump_early"] = lambda: pump_life("family_house")[0]
    found["pump_late"] = lambda: pump_life("family_house")[2]
    return found


MEASURES = _measures()


@cache
def measured(key: str) -> float:
    """Return what ours gives for a recorded quantity."""
    return MEASURES[key]()
