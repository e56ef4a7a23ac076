"""What many tests start from: a small scenario, a bare plant for the loop, and short runs."""

import dataclasses
import math
import signal
from datetime import date

import numpy as np
import pytest

from sim.plant import cause, draws, loop, state
from sim.scenario.care import Policy
from sim.scenario.read.load import load_text
from sim.scenario.read.merge import merged
from sim.twin.history import History
from sim.twin.records import Costs
from sim.twin.run import common_inputs

collect_ignore = ["first_study.py"]  # a script: it runs where doctests are looked for
if (
    signal.getsignal(signal.SIGINT) is signal.SIG_IGN
):  # behind a shell; what tests start would not hear it either
    signal.signal(signal.SIGINT, signal.default_int_handler)
PSI = 6894.757293168361
GALLON = 3.785411784e-3
GPM = GALLON / 60.0
FOOT = 0.3048

# One person, a small roof and a small cistern; nothing random but rain, draws and lives. Weather is steady,
# so that what a test shows in some weeks does not hang on how wet they were.
SMALL = {
    "name": "Tiny",
    "years": 1,
    "start": "2021-01-01",
    "rain": {"wetness_spread": 0.0, "depth_spread": 0.0},
    "roof": {"area": "40 m2"},
    "cistern": {"capacity": "5 m3", "floor": "3 m2", "top_up": "2 m3"},
    "house": {"people": 1.0, "away_spans_per_year": 0.0, "guest_days_per_year": 0.0},
    "people": {"technician_other_jobs_per_year": 0.0, "slips": {"on": False}},
}


def pytest_addoption(parser):
    parser.addoption("--long", action="store_true", help="also run tests marked long, which take minutes")


def pytest_collection_modifyitems(config, items):
    if config.getoption("--long"):
        return
    left_out = [item for item in items if item.get_closest_marker("long")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if not item.get_closest_marker("long")]


def pytest_terminal_summary(terminalreporter, config):
    which = "with" if config.getoption("--long") else "without"
    terminalreporter.write_line(f"{which} the tests marked long (--long runs them)")


def _inline(value):
    """Write a value as inline TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_inline(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_inline(item) for item in value) + "]"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def _scenario(extends="family_house", **tables):
    whole = merged(SMALL, tables)
    start = whole.pop("start")
    lines = [f'extends = "{extends}"', f"start = {start}"]
    lines += [f"{key} = {_inline(value)}" for key, value in whole.items()]
    return load_text("\n".join(lines), "tiny.toml")


@pytest.fixture(scope="session")
def tiny():
    """Make a small scenario: tables of keyword arguments are laid over the small house."""
    return _scenario


@pytest.fixture(scope="session")
def policy():
    """Make a policy from its rules, written as in a scenario."""

    def make(*rules, name="under test", **fields):
        return Policy.model_validate({"name": name, "rule": list(rules), **fields})

    return make


@pytest.fixture(scope="session")
def short():
    """Make the random inputs of a run of some days; keyword arguments replace fields."""

    def make(scenario, n_days, seed=1, replication=0, draws=None, **fields):
        whole = common_inputs(scenario, replication, seed, 1, draws=draws)
        fields = {"rain_m": whole.rain_m[:n_days], "reading_noise": whole.reading_noise[:n_days], **fields}
        return dataclasses.replace(whole, n_days=n_days, **fields)

    return make


@pytest.fixture(scope="session")
def metered():
    """Make the arguments of recorded draws from rows: start_s, flow_m3_s, duration_s, volume_m3."""

    def make(rows, reference_pa=3e5, patience_s=3600.0):
        start, flow, seconds, volume = np.array(rows, dtype=float).reshape(-1, 4).T
        return {
            "start_s": start,
            "use": np.full(start.size, -1),
            "flow_m3_s": flow,
            "reference_pa": reference_pa,
            "duration_s": seconds,
            "volume_m3": volume,
            "patience_s": patience_s,
        }

    return make


@pytest.fixture(scope="session")
def blank_history():
    """Make a history of days on which nothing happened; keyword arguments replace fields."""

    def make(scenario, n_days, **fields):
        stages = tuple(stage.name for stage in scenario.stages)
        none, never = np.zeros(n_days), np.zeros(n_days, dtype=bool)
        whole = {
            "scenario": scenario, "policy": "by hand", "replication": 0, "years": 1, "n_days": n_days,
            "start": date(2021, 1, 1), "stage_names": stages, "use_names": ("tap",),
            "draws": np.zeros(0, draws.DRAW), "use": np.zeros(0, np.int16), "pump_runs_s": np.zeros((0, 2)),
            "days": state.new_days(n_days), "causes": cause.new_causes(n_days),
            "rain_m": none, "cistern_m3": none, "overflow_m3": none, "mains_m3": none,
            "uv_reading": none, "water_c": none, "absorbance_per_m": none,
            "drops_pa": np.zeros((n_days, len(stages))), "cut_days": never, "alarm_days": never,
            "dose_volume_m3": np.zeros(state.DOSE_BINS), "events": (), "lapses": (), "costs": Costs(),
            "parts": {}, "stage_life_left": np.ones(len(stages)), "lamp_life_left": 1.0, "alarms": 0,
            "false_alarms": 0, "pump_j": 0.0, "lit_s": 0.0, "balances": (), "trace": np.zeros((0, 4)),
        }  # fmt: skip
        return History(**{**whole, **fields})

    return make


class Bare:
    """A plant without the rest of the house, driven by the loop alone."""

    def __init__(self, **over):
        self.p, self.s = np.zeros(1, state.PLANT), np.zeros(1, state.STATE)
        values = {
            "tank_m3": 86 * GALLON,
            "precharge_pa": 38 * PSI,
            "atmosphere_pa": 101325.0,
            "exponent": 1.0,
            "cut_in_pa": 40 * PSI,
            "cut_out_pa": 60 * PSI,
            "shutoff_head_m": 180 * FOOT,
            "curve_s2_m5": 0.45 * FOOT / GPM**2,
            "suction_s2_m5": 0.02 * FOOT / GPM**2,
            "air_head_m": 10.0,
            "npsh_required_m": 2.0,
            "height_m": 1.5,
            "floor_m2": 1e9,
            "intake_m3": 1.4,
            "restart_m3": 2.0,
            "best_flow_m3_s": 10 * GPM,
            "best_efficiency": 0.35,
            "drive_efficiency": 1.0,
            "density_kg_m3": 999.0,
            "linear_pa_s_m3": 0.2 * PSI / GPM,
            "quadratic_pa_s2_m6": 0.05 * PSI / GPM**2,
            "most_m3_s": math.inf,
            "static_pa": 3e4,
            "trickle_pa": 3.2e4,
            "dose_flow": 600 * 10 * GPM,
            "target_j_m2": 400.0,
            "low_tap_pa": 8 * PSI,
            "served_share": 0.5,
            "warm_up_s": 180.0,
            "step_share": 0.03,
            "pump_works": 1,
            "lamp_works": 1,
        }
        for name, value in {**values, **over}.items():
            self.p[name] = value
        self.s["cistern_m3"], self.s["power"] = 30.0, 1
        self.s["water_m3"] = self.water_m3(float(self.p["cut_out_pa"][0]))
        self.bins, self.log = self.s["dose_m3"][0], np.zeros((20000, 2))
        self.trace = np.zeros((200000, 4))
        self.days, self.got, self.cuts = state.new_days(40), None, np.zeros((0, 2))
        self.causes = cause.new_causes(len(self.days))

    def water_m3(self, pressure_pa):
        """Water at a gauge pressure, by Boyle's law."""
        p = self.p[0]
        air = (p["precharge_pa"] + p["atmosphere_pa"]) / (pressure_pa + p["atmosphere_pa"])
        return float(p["tank_m3"] * (1.0 - air ** (1.0 / p["exponent"])))

    def draw(self, rows, patience_s=3600.0):
        """Ask for draws: rows of start_s, coefficient, duration_s, volume_m3 (one of them infinite)."""
        start, coefficient, seconds, volume = np.array(rows, dtype=float).reshape(-1, 4).T.copy()
        self.got = draws.blank(start, coefficient, seconds, volume, np.full(start.size, patience_s))
        return self

    def run(self, until_s, cuts=None):
        """Bring the plant to a time."""
        if self.got is None:
            self.draw([])
        if cuts is not None:
            self.cuts = np.array(cuts, dtype=float).reshape(-1, 2)
        status = loop.advance(
            until_s,
            self.s[0],
            self.p[0],
            self.got,
            self.cuts,
            self.days,
            self.causes,
            self.log,
            self.trace,
        )
        assert status == state.OK
        return self

    def day(self, column):
        """Sum of a column of the days."""
        return float(self.days[:, column].sum())

    @property
    def runs(self):
        """Finished pump runs: start and stop."""
        return self.log[: int(self.s["pump_rows"][0])]

    @property
    def steps(self):
        """Steps taken: end, pressure, flow."""
        return self.trace[: int(self.s["trace_rows"][0])]

    def flow_volume(self, first_s, last_s):
        """House volume between two times that are ends of steps."""
        end = self.steps[:, 0]
        begin = np.concatenate([[0.0], end[:-1]])
        inside = (begin >= first_s - 1e-9) & (end <= last_s + 1e-9)
        return float(np.sum(((end - begin) * self.steps[:, 2])[inside]))


@pytest.fixture(scope="session")
def plant():
    """Make a bare plant; keyword arguments replace fields of the plant record."""
    return Bare


class Plain:
    """The same plant written down anew, without a single equation of the project."""

    def __init__(self, bare, coefficient):
        self.p = {name: float(bare.p[name][0]) for name in bare.p.dtype.names}
        self.coefficient = coefficient
        self.lift_m = self.p["height_m"] - float(bare.s["cistern_m3"][0]) / self.p["floor_m2"]

    def gauge(self, water):
        p = self.p
        absolute = (p["precharge_pa"] + p["atmosphere_pa"]) * (p["tank_m3"] / (p["tank_m3"] - water)) ** p[
            "exponent"
        ]
        return absolute - p["atmosphere_pa"]

    def house(self, water):
        if self.coefficient == 0.0:
            return 0.0
        a, b = self.p["linear_pa_s_m3"], self.p["quadratic_pa_s2_m6"] + self.coefficient**-2
        c = self.gauge(water) - self.p["static_pa"]
        return (-a + math.sqrt(a * a + 4.0 * b * c)) / (2.0 * b) if c > 0 else 0.0

    def pump(self, water):
        p = self.p
        head = p["shutoff_head_m"] - self.lift_m - self.gauge(water) / (p["density_kg_m3"] * 9.80665)
        return math.sqrt(head / (p["curve_s2_m5"] + p["suction_s2_m5"])) if head > 0 else 0.0


@pytest.fixture(scope="session")
def plain():
    """Make the independent plant from a bare one and the sum of open coefficients."""
    return Plain


@pytest.fixture(scope="session")
def tap():
    """Fixture coefficient [m3/s/Pa^0.5] that gives some gpm at 58 psi at the tap, by the orifice law."""
    return lambda gpm: gpm * GPM / math.sqrt(58 * PSI)
