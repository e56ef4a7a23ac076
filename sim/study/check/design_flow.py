"""The flow a design is made for: fixtures counted in three ways, beside what is drawn and pumped."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sim.demand import fixtures as counted
from sim.demand.peak import expected_peak_m3_s
from sim.errors import InputError
from sim.scenario.scenario import Scenario
from sim.study.check.pump_use import pump_flow_m3_s
from sim.twin.common import end_uses

HOSE = "garden tap"  # runs on beside all else, so it is a continuous flow, not a fixture by chance
_METHODS: dict[str, Callable[[Mapping[str, int]], float]] = {
    "statistical": counted.statistical_m3_s,
    "fixture units": counted.by_fixture_units_m3_s,
    "loading units": counted.by_loading_units_m3_s,
}


@dataclass(frozen=True)
class Peak:
    """One way to say what flow the house asks for at its peak."""

    name: str
    flow_m3_s: float | None  # None where it cannot be told
    note: str


def fixtures_of(scenario: Scenario) -> dict[str, int]:
    """Return how many fixtures of each kind the house has."""
    found: Counter[str] = Counter()
    for use in scenario.house.uses:
        if use.fixture == "basins and kitchen sink":
            found["kitchen sink"] += 1
            found["basin"] += use.fixtures - 1
        elif use.fixture is not None and use.fixture != HOSE:
            found[use.fixture] += use.fixtures
    return {name: count for name, count in found.items() if count > 0}


def uncounted(scenario: Scenario) -> list[str]:
    """Return the uses that do not say what fixtures serve them."""
    return [use.name for use in scenario.house.uses if use.fixture is None]


def simulated_peak_m3_s(scenario: Scenario) -> float:
    """Return the flow not exceeded in 99 % of the busy time of the household's busiest hour."""
    uses = end_uses(scenario.house)
    return expected_peak_m3_s(uses, [use.fixtures for use in scenario.house.uses], scenario.house.people)


def design_flow_m3_s(scenario: Scenario) -> float | None:
    """Return the flow the design is judged at; None where fixtures are not stated."""
    design = scenario.design
    if design.flow_m3_s is not None:
        return float(design.flow_m3_s)
    found = _counted(scenario, design.peak)
    return None if found is None else found + design.continuous_m3_s


def chosen_words(scenario: Scenario) -> str:
    """Return how the design flow was chosen."""
    design = scenario.design
    if design.flow_m3_s is not None:
        return "as [design] flow states"
    more = ", and continuous flow" if design.continuous_m3_s > 0 else ""
    hose = (
        ""
        if more or not _has_hose(scenario)
        else "; a hose left running would add to it: [design] continuous"
    )
    return f"by the {design.peak} method{more}{hose}"


def peaks(scenario: Scenario) -> list[Peak]:
    """Return the peak by each method, beside what the household draws and the pump gives."""
    have = fixtures_of(scenario)
    units, loads = counted.fixture_units(have), counted.loading_units(have)
    lines = [
        ("fixture units, IPC", "fixture units", f"{units:.1f} units; IPC appendix E, flush tanks"),
        ("loading units, EN 806-3", "loading units", f"{loads:.0f} units; fit of the Swiss guideline W3"),
        ("statistical 99 %", "statistical", "study of 2017, of the busy time; chances and flows from memory"),
    ]
    found = [Peak(name, _counted(scenario, method), note) for name, method, note in lines]
    found.insert(
        1, Peak("fixture units, Illinois", _illinois(scenario), f"{units:.1f} units; 77 IAC 890 table N")
    )
    drawn = "this household in its busiest hour, 99 % of the busy time"
    flow_m3_s = pump_flow_m3_s(scenario, scenario.switch.cut_in_pa)
    pumped = Peak("the pump gives", flow_m3_s, "at cut-in, cistern half full")
    return [
        *found,
        Peak("the household simulated", simulated_peak_m3_s(scenario), drawn),
        *([] if scenario.cistern.gravity_feed else [pumped]),
    ]


def _counted(scenario: Scenario, method: str) -> float | None:
    if uncounted(scenario):
        return None
    try:
        return _METHODS[method](fixtures_of(scenario))
    except InputError:  # more fixture units than the table has
        return None


def _illinois(scenario: Scenario) -> float | None:
    if uncounted(scenario):
        return None
    try:
        return counted.by_fixture_units_m3_s(fixtures_of(scenario), "Illinois")
    except InputError:
        return None


def _has_hose(scenario: Scenario) -> bool:
    return any(use.fixture == HOSE for use in scenario.house.uses)
