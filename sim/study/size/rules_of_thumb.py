"""Sizing rules of thumb compared with what the runs showed: what each says, and where it misleads here."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from sim.demand.peak import expected_peak_m3_s
from sim.plant import tank
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.check.pump_use import pump_flow_m3_s
from sim.study.check.site_supply import yearly_demand_m3, yearly_roof_m3
from sim.study.wording import number, percent
from sim.twin.common import end_uses
from sim.units import ShownKind, Units, text

RULE_SHARE = 0.05
RULE_RUN_S = 60.0
FEW_DRAWS = 0.001  # share of draws above the rating that is as good as none


@dataclass(frozen=True)
class Rule:
    """A rule of thumb."""

    name: str  # what people call it, with its source
    says: str  # the size it gives for this site
    here: str  # what the runs showed of the sizes that were tried, and whether it misleads


def rules(
    scenario: Scenario, lines: pd.DataFrame, designs: Sequence[Scenario], units: Units,
    rain: RainRecord | None = None,
) -> list[Rule]:  # fmt: skip
    """Return the rules of thumb beside what the runs showed of the sizes each design has."""
    return [
        _cistern(scenario, lines, designs, units, rain),
        _tank(scenario, lines, designs, units),
        _uv(scenario, lines, designs, units),
    ]


def judged(lines: pd.DataFrame) -> pd.DataFrame:
    """Return the arms the rules are compared with: those looked after as the first, which is the choice."""
    found: pd.DataFrame = lines[lines["policy"] == lines["policy"].iloc[0]]
    return found


def wanted_tank_m3(scenario: Scenario) -> float:
    """Return the pressure tank whose drawdown is one minute of pump flow.

    Notes
    -----
    The pump's flow is the mean of those at cut-in and cut-out, cistern half full; drawdown by Boyle's law.
    """
    switch, vessel = scenario.switch, scenario.tank
    flows = [pump_flow_m3_s(scenario, at_pa) for at_pa in (switch.cut_in_pa, switch.cut_out_pa)]
    share = tank.drawdown_m3(
        1.0, vessel.precharge_pa, switch.cut_in_pa, switch.cut_out_pa,
        tank.atmosphere_at_pa(scenario.house.altitude_m), vessel.gas_exponent,
    )  # fmt: skip
    return RULE_RUN_S * sum(flows) / 2.0 / float(share)


def _cistern(
    scenario: Scenario,
    lines: pd.DataFrame,
    designs: Sequence[Scenario],
    units: Units,
    rain: RainRecord | None,
) -> Rule:
    currency = scenario.prices.currency
    roof, demand = yearly_roof_m3(scenario, rain), yearly_demand_m3(scenario)
    volume = RULE_SHARE * min(roof, demand)
    less = "roof yield" if roof < demand else "demand"
    said = f"{text(volume, 'volume', units)}: 5 % of a year's {less}"
    seen = list(_seen(lines, [one.cistern.capacity_m3 for one in designs], "volume", units))
    shown = "; ".join(
        f"{name}: {number(mean['cistern_empty_days'])} dry days and "
        f"{number(mean['cost'])} {currency} a year" for name, _, mean in seen
    )  # fmt: skip
    smallest = seen[0]
    if volume < smallest[1] * 0.999:
        note = f"It asks for less than the smallest size run ({smallest[0]})"
        dry = smallest[2]["cistern_empty_days"] > 0
        note += (
            ", which already ran dry: it misleads." if dry else ", so the runs cannot say how dry it gets."
        )
    else:
        nearest = min(seen, key=lambda one: abs(one[1] - volume))
        days = nearest[2]["cistern_empty_days"]
        note = f"Nearest to it is {nearest[0]}, with {number(days)} dry days a year" + (
            ": it misleads where rain is the only supply." if days > 0 else ": it does not mislead here."
        )
    return Rule(
        "5 % rule for the cistern (BS 8515, as quoted; meant for a supply that mains stands behind)",
        said, f"{shown}. {note}",
    )  # fmt: skip


def _tank(scenario: Scenario, lines: pd.DataFrame, designs: Sequence[Scenario], units: Units) -> Rule:
    wanted = wanted_tank_m3(scenario)
    seen = list(_seen(lines, [one.tank.volume_m3 for one in designs], "volume", units))
    shown = "; ".join(
        f"{name}: {number(mean['short_runs'])} of {number(mean['pump_starts'])} pump runs a year "
        "under a minute" for name, _, mean in seen
    )  # fmt: skip
    under = [(name, mean["short_runs"] < 1.0) for name, size, mean in seen if size < wanted * 0.999]
    over = [mean["short_runs"] < 1.0 for _, size, mean in seen if size >= wanted * 0.999]
    smaller = [name for name, free in under if free]
    if smaller:
        note = f"{smaller[0]} is smaller and had next to none: the rule asks for more than this use needs."
    elif not any(over):
        note = "No size run was free of them."
    elif under:
        note = "Sizes at or above the rule had next to none, smaller ones did: it does not mislead here."
    else:
        note = "No smaller size was run, so the runs cannot say whether a smaller one would do."
    if any(mean["short_runs"] >= 1.0 for _, _, mean in seen):
        note += " A short run wears the pump as two starts, which is in the cost."
    return Rule(
        "one minute of pump flow as drawdown (common practice)",
        f"{text(wanted, 'volume', units)} of pressure tank", f"{shown}. {note}",
    )  # fmt: skip


def _uv(scenario: Scenario, lines: pd.DataFrame, designs: Sequence[Scenario], units: Units) -> Rule:
    uses = end_uses(scenario.house)
    peak = expected_peak_m3_s(uses, [use.fixtures for use in scenario.house.uses], scenario.house.people)
    seen = list(_seen(lines, [one.uv.whole_rated_flow_m3_s for one in designs], "flow", units))
    shown = "; ".join(
        f"{name}: {percent(mean['over_uv_share'])} of draws above it, "
        f"{number(mean['days_below_target'])} days below the dose target" for name, _, mean in seen
    )  # fmt: skip
    below = [(name, mean) for name, size, mean in seen if size < peak * 0.999]
    fine = [name for name, mean in below if mean["over_uv_share"] < FEW_DRAWS]
    worst = max(seen, key=lambda one: one[1])
    if fine:
        note = f"{fine[0]} is under the peak and draws hardly ever pass it: the rule asks for more."
    elif below:
        note = "Under the peak draws do pass the rating: it does not mislead as to flow."
    else:
        note = "No size under the peak was run, so the runs cannot say whether a smaller one would do."
    if worst[2]["days_below_target"] > 0:
        note += f" Even {worst[0]} had days below the dose target: not by flow alone."
    return Rule(
        "UV rated for the peak flow (99 % of the busy time of the busiest hour)",
        text(peak, "flow", units), f"{shown}. {note}",
    )  # fmt: skip


def _seen(
    lines: pd.DataFrame, sizes: Sequence[float], kind: ShownKind, units: Units
) -> Iterator[tuple[str, float, pd.Series]]:
    """Yield each size, of a design by its number, with the means of its arms; smallest first."""
    of_line = lines["design_number"].map(lambda design: sizes[design])
    numbers = lines.select_dtypes("number")
    for size in sorted(of_line.unique()):
        yield text(size, kind, units), float(size), numbers[of_line == size].mean()
