"""Random houses, and what happens to them from outside."""

import dataclasses

import numpy as np

from sim.scenario.read.load import load_text
from sim.twin.run import common_inputs
from tests.second import plain_numbers

DAY = 86400.0
LAWS = ('"complete"', '"standard"', '"intermediate"', '"cake"')
RATED_AT = ("new", "end of lamp life", "alarm")


@dataclasses.dataclass
class Case:
    """One random house and what happens to it from outside."""

    scenario: object
    wear: plain_numbers.Wear
    draws: object
    cuts: np.ndarray
    changes: list
    cistern: float
    n_days: int


def _stage(name, rng):
    return f"""
[[stage]]
name = "{name}"
size = "own"
rating = "5 um"
efficiency_at_rating = 0.85
sharpness = 2.0
housings = {rng.integers(1, 3)}
clean_linear = "{rng.uniform(0.02, 0.4):.4f} psi/gpm"
housing_quadratic = "{rng.uniform(0.0, 0.03):.4f} psi/gpm2"
dirt_capacity = "100 g"
terminal_rise = "{rng.uniform(5, 20):.2f} psi"
rated_flow = "{rng.uniform(5, 12):.2f} gpm"
law = {rng.choice([*LAWS, f"{rng.uniform(0.0, 2.0):.4f}"])}
plateau = {rng.choice([0.0, rng.uniform(0.0, 0.6)]):.4f}
age_limit = "6 month"
collapse = "100 psi"
released_share = 0.5
carbon_bed = "0 L"
carbon_initial = 0.0
carbon_floor = 0.0
carbon_half_bed_volumes = 1.0
carbon_steepness = 1.0
price = 1.0
"""


def _text(rng):
    """A random house: mostly sound, sometimes with too little tank, pump, precharge or pressure."""
    cut_in = rng.uniform(20, 45)
    cut_out = cut_in + rng.uniform(10, 25)
    tank = rng.choice([rng.uniform(20, 120), rng.uniform(2, 8)], p=[0.8, 0.2])
    precharge = rng.choice([cut_in - 2, rng.uniform(5, cut_in), cut_in + 3], p=[0.6, 0.3, 0.1])
    head, curve, suction = (
        (cut_out * 2.31 + 12) * rng.uniform(1.2, 1.8),
        rng.uniform(0.15, 1.2),
        rng.uniform(0, 0.1),
    )
    most = ((head - cut_in * 2.31) / (curve + suction)) ** 0.5  # flow at cut-in [gpm]
    return f"""
extends = "base"
name = "random"
[roof]
area = "100 m2"
[cistern]
floor = "{rng.uniform(2.0, 14.0):.3f} m2"
capacity = "20 m3"
intake = "{rng.uniform(60, 200):.1f} mm"
[pump]
shutoff_head = "{head:.2f} ft"
curve = "{curve:.4f} ft/gpm2"
suction_loss = "{suction:.4f} ft/gpm2"
height = "{rng.uniform(-1.0, 3.0):.3f} m"
best_flow = "{rng.uniform(0.6, 1.0) * most:.2f} gpm"
restart = "{rng.uniform(20, 150):.1f} mm"
[pressure_switch]
cut_in = "{cut_in:.3f} psi"
cut_out = "{cut_out:.3f} psi"
[pressure_tank]
volume = "{tank:.3f} gal"
precharge = "{precharge:.3f} psi"
gas_exponent = {rng.choice([1.0, rng.uniform(1.0, 1.4)]):.4f}
[house]
people = {rng.uniform(1.0, 5.0):.2f}
away_spans_per_year = 0.0
lift = "{rng.uniform(-2.0, 10.0):.2f} m"
pipe_length = "{rng.uniform(5, 60):.1f} m"
pipe_bore = "{rng.uniform(13, 26):.2f} mm"
leak = "{rng.choice([0.0, rng.uniform(1, 300)]):.2f} L/d"
altitude = "{rng.uniform(0, 2500):.1f} m"
[uv]
rated_flow = "{rng.uniform(3, 12):.2f} gpm"
warm_up = "{rng.uniform(20, 400):.1f} s"
shutoff_valve = {str(bool(rng.random() < 0.3)).lower()}
alarm = "{rng.choice([1.0, 60.0])} %"
rated_at = "{rng.choice(RATED_AT)}"
[power]
saifi = {rng.choice([0.0, 150.0])}
saidi = "230 h"
cut_spread = 1.2
{"".join(_stage(name, rng) for name in ("sediment", "carbon", "third")[: rng.integers(2, 4)])}
"""


def _changes(rng, n_days, store):
    """Service with water shut, lamps that stay dark for a while, a refill after the trip."""
    found = []
    end = n_days * DAY
    if rng.random() < 0.5:
        begin = rng.uniform(0.1, 0.8) * end
        length = rng.uniform(600, 7200)
        found += [(begin, "shut", 1), (begin, "lamp", 0), (begin + length, "lamp", 1)]
        found += [(begin + length, "warm", 1), (begin + length + rng.uniform(0, 600), "shut", 0)]
    if rng.random() < 0.3:
        begin = rng.uniform(0.81, 0.9) * end
        found += [(begin, "lamp", 0), (begin + rng.uniform(600, 40000), "lamp", 1)]
    if rng.random() < 0.2:
        begin = rng.uniform(0.02, 0.08) * end
        found += [(begin, "pump", 0), (begin + rng.uniform(600, 5000), "pump", 1)]
    found += [(rng.uniform(0.3, 0.95) * end, "refill", rng.uniform(0.05, 0.4) * store.floor_m2)]
    return sorted(change for change in found if change[0] < end)


def random_case(seed, n_days):
    """Draw a house, its wear, its draws and cuts, by the seed alone."""
    rng = np.random.default_rng(seed)
    scenario = load_text(_text(rng), "random.toml")
    tested = np.random.default_rng([seed, 1])  # apart: the houses stay those drawn before it came
    share = float(tested.choice([0.0, 0.25, tested.uniform(0.05, 1.0)]))
    neglected = tested.uniform(0.8, 2.5) * (tested.random() < 0.5)  # so that no flow meets the target
    unit = scenario.uv.model_copy(update={"least_tested_share": share})
    scenario = scenario.model_copy(update={"uv": unit})
    common = common_inputs(scenario, 0, seed, 1)
    store = scenario.cistern
    full = 0.6 * store.capacity_m3
    low = (store.intake_m + rng.uniform(0.01, 0.15)) * store.floor_m2
    wear = plain_numbers.Wear(
        water_c=rng.uniform(3, 22),
        loads=tuple(rng.uniform(0.0, 1.0) for _ in scenario.stages),
        lit_s=rng.uniform(0, 9000 * 3600),
        sleeve_film=rng.uniform(0.0, 0.4) + neglected,
        window_film=rng.uniform(0.0, 0.2),
        absorbance=rng.uniform(0.5, 10.0),
        head=rng.choice([1.0, rng.uniform(0.7, 1.0)]),
    )
    cuts = common.cuts_s[common.cuts_s[:, 0] < n_days * DAY]
    count = int(np.searchsorted(common.draws.start_s, n_days * DAY))
    kept = {f.name: getattr(common.draws, f.name)[:count] for f in dataclasses.fields(common.draws)}
    return Case(
        scenario=scenario,
        wear=wear,
        draws=dataclasses.replace(common.draws, **kept),
        cuts=cuts,
        changes=_changes(rng, n_days, store),
        cistern=float(rng.choice([full, low], p=[0.6, 0.4])),
        n_days=n_days,
    )
