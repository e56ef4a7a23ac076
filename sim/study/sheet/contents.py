"""Tables of the design sheet: parts by tag, inputs with their grade, chosen items, the year of work."""

from collections.abc import Mapping, Sequence

from sim.scenario.scenario import Scenario
from sim.scenario.values.grades import base_grades
from sim.scenario.values.value_list import values
from sim.study.search.catalogue import equipment
from sim.study.visits.service_sheet import minutes
from sim.study.visits.visits import Visit
from sim.study.wording import given, number
from sim.units import Units, span, text

# Inputs a reader of the sheet asks after, in the order water flows; those of stages are added.
_ASKED = (
    "roof.area", "roof.coefficient", "roof.first_flush", "cistern.capacity", "cistern.floor",
    "cistern.intake", "cistern.top_up_below", "cistern.mains_flow", "cistern.mains_below",
    "cistern.mains_until", "pump.shutoff_head", "pump.curve", "pump.best_flow",
    "pump.npsh_required", "pump.speed", "pump.least_flow", "pump.stop_delay", "pump.standby",
    "pump.standby_after", "pump.height",
    "pressure_switch.cut_in", "pressure_switch.cut_out",
    "pressure_tank.volume", "pressure_tank.precharge", "uv.units", "uv.arranged",
    "uv.dose_at_rating", "uv.rated_at",
    "uv.rated_flow", "uv.rated_transmittance", "uv.tested_as", "uv.restrictor",
    "uv.restrictor_kind", "uv.restrictor_drop", "uv.alarm",
    "uv.shutoff_valve", "house.people", "house.lift", "house.pipe_length", "house.pipe_bore",
    "house.altitude", "design.transmittance", "design.flow",
)  # fmt: skip
_OF_SPEED = frozenset({"pump.speed", "pump.least_flow", "pump.stop_delay"})
_OF_TWO_UNITS = frozenset({"uv.units", "uv.arranged"})
_OF_STAGES = ("size", "rating", "housings", "rated_flow", "dirt_capacity", "terminal_rise")
SITE = "the site's own"

Box = tuple[str, list[tuple[str, str]], bool]


def tags(scenario: Scenario, units: Units) -> list[Box]:
    """Return the parts in the order water flows, each with its tag, for a schematic."""
    pump, switch, vessel, unit = scenario.pump, scenario.switch, scenario.tank, scenario.uv
    held = [("speed", "holds cut-out")] if pump.holds else []
    pumps, second = ("P1, P2 pumps", [("P2", "standby, like P1")]) if pump.standby else ("P1 pump", [])
    let_in = scenario.cistern.mains_m3_s
    mains = [("mains, air gap", text(let_in, "flow", units))] if let_in is not None else []
    found: list[Box] = [
        ("R1 roof", [("area", text(scenario.roof.area_m2, "area", units))], False),
        ("C1 cistern", [("holds", text(scenario.cistern.capacity_m3, "volume", units)),
                        ("intake above the floor", span(scenario.cistern.intake_m, units)),
                        *mains], False),
        (pumps, [("best flow", text(pump.best_flow_m3_s, "flow", units)),
                     ("shut-off head", text(pump.shutoff_head_m, "length", units)), *held, *second], False),
        ("V1 pressure tank", [("volume", text(vessel.volume_m3, "volume", units)),
                              ("cut-in, cut-out", f"{text(switch.cut_in_pa, 'pressure', units)}, "
                               f"{text(switch.cut_out_pa, 'pressure', units)}")], False),
    ]  # fmt: skip
    for at, stage in enumerate(scenario.stages, 1):
        housings = f"{stage.housings} x " if stage.housings > 1 else ""
        size = [("size, inches", f"{housings}{stage.size}"), ("rating", f"{1e6 * stage.rating_m:g} um")]
        found.append((f"F{at} {stage.name}", size, False))
    valve = "shut-off valve" if unit.shutoff_valve else "no shut-off valve"
    light = [("rated flow", text(unit.rated_flow_m3_s, "flow", units)), ("beside it", valve)]
    highest = ("highest tap above the gauge", span(scenario.house.lift_m, units))
    people = [("people", given(scenario.house.people)), highest]
    if unit.restrictor_m3_s is not None:
        holds = ("flow", text(unit.restrictor_m3_s, "flow", units))
        found.append(("O1 restrictor", [holds, ("kind", unit.restrictor_kind)], False))
    lamps = "U1 UV unit"
    if unit.units > 1:
        lamps, light = (
            "U1, U2 UV units",
            [("arranged", f"in {unit.arranged}"), ("rated flow of each", light[0][1]), light[1]],
        )
    return [*found, (lamps, light, False), ("H1 house", people, False)]


def inputs(scenario: Scenario, base: Scenario, units: Units) -> list[list[str]]:
    """Return the inputs that matter, each with its value and what it rests on."""
    ours, theirs, grades = dict(values(scenario, units)), dict(values(base, units)), base_grades()
    stages = [f"stage[{stage.name}].{key}" for stage in scenario.stages for key in _OF_STAGES]
    before = _ASKED.index("uv.units")
    keys = [*_ASKED[:before], *stages, *_ASKED[before:]]
    if not scenario.pump.holds:
        keys = [key for key in keys if key not in _OF_SPEED]
    if not scenario.pump.standby:
        keys = [key for key in keys if not key.startswith("pump.standby")]
    if scenario.cistern.mains_m3_s is None:
        keys = [key for key in keys if not key.startswith("cistern.mains_")]
    if scenario.uv.units == 1:
        keys = [key for key in keys if key not in _OF_TWO_UNITS]
    if scenario.uv.restrictor_m3_s is None:
        keys = [key for key in keys if not key.startswith("uv.restrictor_")]
    found = []
    for key in keys:
        if key in ours:
            at = _in_base(key, ours[key], theirs, base)
            graded = grades.get(at) if at else None
            found.append([key, ours[key], _as_base(graded.grade) if graded else SITE])
    return found


def _in_base(key: str, value: str, theirs: Mapping[str, str], base: Scenario) -> str:
    """Return the key under which the base has this value, or one like it for a further stage; else none."""
    field = key.partition("].")[2]
    like = [f"stage[{stage.name}].{field}" for stage in base.stages] if field and key not in theirs else []
    return next((one for one in (key, *like) if theirs.get(one) == value), "")


def _as_base(grade: str) -> str:
    return f"as in base.toml [{grade}]" if grade else "as in base.toml"


def items(scenario: Scenario) -> list[list[str]]:
    """Return what is bought: part, price, life, and whether the price is a quotation."""
    pieces = equipment(scenario, scenario)
    bought = [
        [
            one.part,
            number(one.price),
            f"{given(round(one.years, 1))} yr",
            "stated" if one.stated else "invented",
        ]
        for one in pieces
    ]
    cartridges = [
        [
            f"cartridge of {stage.name}",
            number(stage.price * stage.housings),
            "by the plan",
            "as the site has it",
        ]
        for stage in scenario.stages
    ]
    return bought + cartridges


def work(scenario: Scenario, visits: Sequence[Visit]) -> list[list[str]]:
    """Return the work of the year: task, who, how often, minutes each, the first date."""
    found: dict[tuple[str, str], list[Visit]] = {}
    for visit in visits:
        for job in visit.jobs:
            found.setdefault((job.label, visit.who), []).append(Visit(visit.on, visit.who, (job,)))
    return [
        [label, who, f"{len(days)}", f"{minutes(scenario, days[0]):.0f}", str(days[0].on)]
        for (label, who), days in found.items()
    ]
