"""What is changed, and which tests are to notice it."""

import hashlib
import json
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
KEPT = ROOT / ".mutation"
# Of cosmic-ray's operators those that leave a number where a number was: bit operators on floats and the like
# die of a TypeError and would only flatter the score.
OPERATORS = (
    "ReplaceBinaryOperator_Add_Sub",
    "ReplaceBinaryOperator_Sub_Add",
    "ReplaceBinaryOperator_Mul_Div",
    "ReplaceBinaryOperator_Div_Mul",
    "ReplaceBinaryOperator_Pow_Mul",
    "ReplaceBinaryOperator_FloorDiv_Mul",
    "ReplaceBinaryOperator_Mod_Mul",
    "ReplaceComparisonOperator_Lt_LtE",
    "ReplaceComparisonOperator_Lt_Gt",
    "ReplaceComparisonOperator_LtE_Lt",
    "ReplaceComparisonOperator_LtE_GtE",
    "ReplaceComparisonOperator_Gt_GtE",
    "ReplaceComparisonOperator_Gt_Lt",
    "ReplaceComparisonOperator_GtE_Gt",
    "ReplaceComparisonOperator_GtE_LtE",
    "ReplaceComparisonOperator_Eq_NotEq",
    "ReplaceComparisonOperator_NotEq_Eq",
    "ReplaceUnaryOperator_Delete_USub",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "AddNot",
    "NumberReplacer",
    "ZeroIterationForLoop",
)
# The tests that hold each file: its own doctests and the first named run first, the others on what is left.
TESTS: dict[str, tuple[str, ...]] = {
    "sim/plant/bypass.py": ("tests/unit/test_plant_bypass.py",),
    "sim/plant/carbon.py": ("tests/unit/test_plant_carbon.py", "tests/published"),
    "sim/plant/cartridge.py": ("tests/unit/test_plant_cartridge.py", "tests/published"),
    "sim/plant/count.py": ("tests/unit/test_plant_count.py", "tests/unit/test_loop_events.py"),
    "sim/plant/step.py": (
        "tests/unit/test_plant_step.py",
        "tests/unit/test_plant_count.py",
        "tests/unit/test_loop_events.py",
        "tests/theory/test_loop_theory.py",
    ),
    "sim/plant/fixture.py": ("tests/unit/test_plant_fixture.py", "tests/published"),
    "sim/plant/lamp.py": (
        "tests/unit/test_plant_lamp.py",
        "tests/published",
        "tests/theory/test_replacement.py",
    ),
    "sim/plant/pipe.py": ("tests/unit/test_plant_pipe.py", "tests/published"),
    "sim/plant/pump.py": ("tests/unit/test_plant_pump.py", "tests/published"),
    "sim/plant/tank.py": ("tests/unit/test_plant_tank.py", "tests/published"),
    "sim/plant/train.py": ("tests/unit/test_plant_train.py", "tests/published"),
    "sim/plant/uv.py": ("tests/unit/test_plant_uv.py", "tests/published"),
    "sim/plant/water.py": ("tests/unit/test_plant_water.py", "tests/published"),
    "sim/supply/cistern.py": (
        "tests/unit/test_supply_equations.py",
        "tests/published",
        "tests/invariants/test_cistern_invariants.py",
    ),
    "sim/supply/generator.py": (
        "tests/unit/test_supply_rain.py",
        "tests/published",
        "tests/theory/test_rain_theory.py",
    ),
    "sim/supply/rain.py": (
        "tests/unit/test_supply_rain.py",
        "tests/published",
        "tests/theory/test_rain_theory.py",
    ),
    "sim/supply/rain_spread.py": ("tests/unit/test_supply_rain_spread.py",),
    "sim/supply/weather.py": ("tests/unit/test_supply_weather.py", "tests/theory/test_rain_theory.py"),
    "sim/supply/record.py": ("tests/unit/test_supply_rain.py", "tests/published"),
    "sim/supply/roof.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/supply/solids.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/supply/storage.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/supply/temperature.py": ("tests/unit/test_supply_equations.py", "tests/published"),
    "sim/demand/days.py": (
        "tests/unit/test_demand_trace.py",
        "tests/theory/test_demand_theory.py",
        "tests/theory/test_session_theory.py",
    ),
    "sim/demand/draw_spread.py": ("tests/unit/test_draw_spread.py",),
    "sim/demand/end_use.py": ("tests/unit/test_demand_trace.py", "tests/theory/test_demand_theory.py"),
    "sim/demand/peak.py": (
        "tests/unit/test_demand_peak.py",
        "tests/published",
        "tests/theory/test_demand_theory.py",
    ),
    "sim/demand/profile.py": ("tests/unit/test_demand_profile.py",),
    "sim/demand/sessions.py": ("tests/unit/test_demand_trace.py", "tests/theory/test_session_theory.py"),
    "sim/demand/trace.py": (
        "tests/unit/test_demand_trace.py",
        "tests/theory/test_demand_theory.py",
        "tests/theory/test_session_theory.py",
    ),
    "sim/upkeep/rules.py": ("tests/unit/test_upkeep_rules.py",),
    "sim/upkeep/sampling.py": ("tests/unit/test_upkeep_sampling.py",),
    "sim/upkeep/walk.py": ("tests/unit/test_procedures.py",),
    "sim/outcome/sizing.py": ("tests/unit/test_outcome_sizing.py",),
    "sim/outcome/signs.py": ("tests/unit/test_outcome_signs.py",),
    "sim/outcome/measures.py": ("tests/unit/test_outcome_measures.py",),
    "sim/outcome/causes.py": ("tests/unit/test_outcome_causes.py",),
}
# Further files with compiled functions: by the room they stand in, the deepest that has a line. What is
# compiled cannot be followed line by line; other files are tried by the tests that run the line (`whole.py`).
ROOMS: dict[str, tuple[str, ...]] = {
    "sim/diary/parts/": (
        *("tests/diary/test_falls.py", "tests/diary/test_weights.py"),
        *("tests/diary/test_diary.py", "tests/diary/test_replay.py"),
    ),
    "sim/outcome/drawn.py": ("tests/unit/test_outcome_measures.py", "tests/unit/test_outcome_sizing.py"),
    "sim/plant/": ("tests/unit/test_loop_events.py", "tests/theory/test_loop_theory.py"),
    "sim/plant/loop.py": (
        *("tests/unit/test_loop_events.py", "tests/unit/test_loop_causes.py"),
        *("tests/unit/test_plant_energy.py", "tests/theory/test_loop_theory.py"),
    ),
    "sim/plant/energy.py": ("tests/unit/test_plant_energy.py",),
    "sim/plant/pump_life.py": ("tests/unit/test_plant_pump_life.py",),
    "sim/plant/suction.py": ("tests/unit/test_plant_suction.py",),
    "sim/twin/water/": ("tests/unit/test_water_house.py", "tests/whole/test_run_by_hand.py"),
}


def holding(file: str) -> tuple[str, ...]:
    """Name the tests that are to notice a change of a file with compiled functions."""
    if file in TESTS:
        return TESTS[file]
    return ROOMS[max((room for room in ROOMS if file.startswith(room)), key=len)]


# Left out: a division by 0 that compiled code answers with infinity and plain Python refuses.
NOT_HERE = ("tests/unit/test_plant_train.py::test_flow_uses_up_the_drive[0.0-0.0",)


@dataclass(frozen=True)
class Mutant:
    """One change."""

    file: str
    line: int
    before: str
    after: str
    code: str
    nth: int = 1  # of the lines that read alike

    @property
    def name(self) -> str:
        """File and change, to be found again in `survivors.csv`."""
        return f"{self.file}:{self.before} -> {self.after}" + (f" [{self.nth}]" if self.nth > 1 else "")


def mutants(file: str) -> list[Mutant]:
    """Every mutant of a file, but those of decorators and imports; kept, for making them takes long."""
    source = (ROOT / file).read_bytes()
    digest = hashlib.sha256(repr((file, OPERATORS)).encode() + source + Path(__file__).read_bytes())
    kept = KEPT / f"{digest.hexdigest()[:24]}.json"
    if not kept.exists():
        KEPT.mkdir(exist_ok=True)
        kept.write_text(json.dumps([asdict(made(file, place)) for place in places(file)]), encoding="utf-8")
    return [Mutant(**fields) for fields in json.loads(kept.read_text(encoding="utf-8"))]


@dataclass(frozen=True)
class Place:
    """Where an operator can change a file: the how manyth of its places, counted from 0."""

    operator: str
    nth: int


@cache
def places(file: str) -> list[Place]:
    """Return where a file can be changed, but for decorators and imports."""
    from cosmic_ray.ast import ast_nodes, get_ast  # noqa: PLC0415
    from cosmic_ray.plugins import get_operator  # noqa: PLC0415

    source = (ROOT / file).read_text(encoding="utf-8")
    lines, nodes = source.splitlines(), list(ast_nodes(get_ast(source)))
    found = []
    for name in OPERATORS:
        operator = get_operator(f"core/{name}")()
        at = [place[0][0] for node in nodes for place in operator.mutation_positions(node)]
        found += [Place(name, nth) for nth, line in enumerate(at) if not _is_left_out(lines[line - 1])]
    return found


def _is_left_out(line: str) -> bool:
    return line.lstrip().startswith(("@", "from ", "import "))


def made(file: str, place: Place) -> Mutant:
    """Make one change of a file."""
    from cosmic_ray.mutating import mutate_code  # noqa: PLC0415
    from cosmic_ray.plugins import get_operator  # noqa: PLC0415

    source = (ROOT / file).read_text(encoding="utf-8")
    return _described(file, source, mutate_code(source, get_operator(f"core/{place.operator}")(), place.nth))


def unchanged(file: str) -> Mutant:
    """The file as it is, to be run in the same way."""
    return Mutant(file, 0, "", "", (ROOT / file).read_text(encoding="utf-8"))


def _described(file: str, source: str, code: str) -> Mutant:
    lines = enumerate(zip(source.splitlines(), code.splitlines(), strict=False), 1)
    number, (before, after) = next((n, pair) for n, pair in lines if pair[0] != pair[1])
    alike = [line.strip() for line in source.splitlines()[:number]].count(before.strip())
    return Mutant(file, number, before.strip(), after.strip(), code, alike)


def stages(file: str) -> list[list[str]]:
    """The tests of a file in the order in which they are run."""
    first, *rest = holding(file)
    return [[file, first], rest] if rest else [[file, first]]
