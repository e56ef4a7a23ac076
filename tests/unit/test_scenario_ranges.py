"""Ranges: every number has one, apart from the limits that refuse; outside it every result says so."""

import math
from typing import get_args

import numpy as np
import pytest
from pydantic import BaseModel

from sim.cli import main
from sim.commands.check import FAILS
from sim.outcome import measures
from sim.scenario.read.load import built_in, load, load_text
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values import grades, ranges
from sim.scenario.values.numbers import kind_of, numbers, si_unit, with_values
from sim.twin import run as twin
from sim.units import FACTORS

BASE = load_text('extends = "base"', "base")
SERIES = {"rain.day": "length", "rain.year": "length", "draws.flow": "flow"}


def fields(model=Scenario, path=""):
    """Every number a scenario can hold: key without names, field, whatever a file says."""
    for name, field in model.model_fields.items():
        key = f"{path}.{field.alias or name}".lstrip(".")
        kinds = {field.annotation, *get_args(field.annotation)}
        inner = next((k for k in kinds if isinstance(k, type) and issubclass(k, BaseModel)), None)
        if inner is not None:
            yield from fields(inner, key)
        elif kinds & {float, int} or kind_of(field) is not None:
            yield key, field


FIELDS = dict(fields())


def limits(field):
    found = {name: getattr(mark, name) for mark in field.metadata for name in ("gt", "ge", "lt", "le")
             if getattr(mark, name, None) is not None}  # fmt: skip
    low = found.get("gt", found.get("ge", -math.inf))
    return low, found.get("lt", found.get("le", math.inf))


def test_every_number_a_scenario_can_hold_has_a_range_and_no_range_is_left_over():
    assert set(ranges.ranges()) == set(FIELDS) | set(SERIES)
    assert len(FIELDS) > 150


@pytest.mark.parametrize("key", FIELDS)
def test_a_range_lies_within_the_hard_limits(key):
    low, high = ranges.ranges()[key].bounds(kind_of(FIELDS[key]))
    least, most = limits(FIELDS[key])
    assert least <= low < high <= most


@pytest.mark.parametrize("site", ["base", *built_in()])
def test_the_defaults_and_the_built_in_sites_lie_within(site):
    assert ranges.outside(load_text(f'extends = "{site}"', site)) == ()


def test_every_number_of_the_base_has_a_grade_beside_it():
    graded = grades.base_grades()
    found = {number.key: graded[number.key].grade for number in numbers(BASE) if number.key in graded}
    assert [key for key, grade in found.items() if not grade] == []
    # a number that no file states is a default of the model
    assert [number.key for number in numbers(BASE) if number.stated and number.key not in graded] == []


@pytest.mark.parametrize(
    ("key", "grade"),
    [
        ("roof.coefficient", "S"),  # beside the value
        ("roof.first_flush", "2"),
        ("pressure_switch.cut_in", grades.PRACTICE),
        ("stage[sediment].carbon_floor", "A"),  # over the tables
        ("house.use[bath].events_per_person_day", "A"),  # the first of two
        ("house.use[bath].flow", "S"),
        ("people.adherence", "A"),  # beside the head of the table
        ("prices.electricity_kwh", grades.INVENTED),
        ("policy[by the calendar].rule[1].every", grades.PRACTICE),
    ],
)
def test_grade_of(key, grade):
    assert grades.base_grades()[key].grade == grade


def test_a_value_without_a_comment_in_sight_has_no_grade():
    assert [one.grade for one in grades.graded('[roof]\narea = "1 m2"\n\n# [A]\n\n[pump]\nlife = "1 h"')] == [
        "",
        "",
    ]


def test_each_range_says_its_role_grade_and_reason():
    for found in ranges.ranges().values():
        assert found.role in ranges.ROLES, found
        assert found.grade in set("S2MCAR") and found.why, found
        assert bool(found.spread) == (found.role == "uncertain"), found


@pytest.mark.parametrize("kind", FACTORS)
def test_every_kind_has_an_si_unit(kind):
    assert FACTORS[kind][si_unit(kind)] == 1.0


@pytest.mark.parametrize("site", built_in())
def test_a_scenario_written_and_read_again_is_the_same_to_the_last_bit(site):
    scenario = load(site)
    every = {one.key: int(one.value) if one.whole else one.value for one in numbers(scenario) if one.stated}
    again = with_values(scenario, every)
    assert again == scenario and numbers(again) == numbers(scenario)
    assert with_values(scenario, {}) == scenario


def test_what_hangs_on_another_part_follows_it_and_what_does_not_is_kept():
    changed = with_values(BASE, {"uv.units": 2})
    wiped = [one.task("wipe sleeve").minutes for one in (BASE, changed)]
    assert wiped[0] < wiped[1]  # done at each unit
    assert changed.uv.units == 2 and changed.stages[0] is BASE.stages[0]


def test_values_are_laid_into_a_scenario_by_key():
    changed = with_values(BASE, {"stage[carbon].dirt_capacity": 0.3, "stage[carbon].law": "standard"})
    assert (changed.stages[1].dirt_capacity_kg, changed.stages[1].exponent) == (0.3, 1.5)
    assert changed.stages[0] == BASE.stages[0]
    with pytest.raises(KeyError, match=r"stage\[gravel\]"):
        with_values(BASE, {"stage[gravel].price": 1.0})


def test_bounds_themselves_are_inside_and_a_little_beyond_is_outside():
    low, high = ranges.ranges()["roof.area"].bounds("area")
    assert ranges.outside(with_values(BASE, {"roof.area": high})) == ()
    assert ranges.outside(with_values(BASE, {"roof.area": low})) == ()
    assert ranges.outside(with_values(BASE, {"roof.area": high * 1.001})) == ("roof.area",)
    assert ranges.outside(with_values(BASE, {"roof.area": low * 0.999})) == ("roof.area",)


def record(*depth_mm):
    days = np.datetime64("2020-01-01") + np.arange(len(depth_mm))
    return RainRecord(days, np.array(depth_mm) / 1000.0, "0" * 64)


@pytest.mark.parametrize(
    ("rain", "names"),
    [
        (record(*[3.0] * 365), ()),
        (record(400.0, *[3.0] * 364), ("rain.day",)),
        (record(*[20.0] * 365), ("rain.year",)),
        (record(*[0.0] * 365), ("rain.year",)),
    ],
)
def test_recorded_rain(rain, names):
    assert ranges.outside(BASE, rain) == names


@pytest.mark.parametrize(("flow", "names"), [(5e-4, ()), (0.01, ("draws.flow",)), (math.nan, ())])
def test_metered_draws(flow, names):
    assert ranges.outside(BASE, draws={"flow_m3_s": np.array([2e-4, flow])}) == names


@pytest.fixture
def stretched(tmp_path):
    file = tmp_path / "stretched.toml"
    file.write_text('extends = "family_house"\n[cistern]\nwater_mean = "29 C"\n[uv]\nalarm = "20 %"\n')
    return file


NAMES = "cistern.water_mean, uv.alarm"


def test_rows_say_it():
    scenario = with_values(BASE, {"uv.alarm": 0.2})
    common = twin.common_inputs(scenario, 0, 1, 1)
    row = measures.row(twin.run(scenario, scenario.policies[0], common))
    assert row["extrapolated"] == "uv.alarm"
    row = measures.row(twin.run(BASE, BASE.policies[0], common), {"flow_m3_s": np.array([1.0])})
    assert row["extrapolated"] == "draws.flow"
    assert measures.row(twin.run(BASE, BASE.policies[0], common))["extrapolated"] == ""


def test_check_says_it(stretched, capsys):
    assert main(["check", str(stretched)]) == FAILS
    out = capsys.readouterr().out
    assert "! extrapolated: cistern.water_mean  (believed from 2 C to 28 C: ice" in out
    assert "! extrapolated: uv.alarm" in out


def test_run_says_it(stretched, tmp_path, capsys):
    assert main(["run", str(stretched), "--years", "1", "--out", str(tmp_path / "o")]) == 0
    assert f"Extrapolated: {NAMES} are outside" in capsys.readouterr().out


def test_compare_says_it_on_screen_in_the_rows_and_in_the_report(stretched, tmp_path, capsys):
    out = tmp_path / "o"
    words = ["--years", "1", "--replications", "1", "--workers", "1", "--policy", "nothing done"]
    assert main(["compare", str(stretched), *words, "--out", str(out)]) == 0
    assert f"Extrapolated: {NAMES} are outside" in " ".join(capsys.readouterr().out.split())
    assert "cistern.water_mean; uv.alarm" in (out / "rows.csv").read_text()
    assert f"Extrapolated: {NAMES} are outside" in (out / "report.html").read_text()


def test_nothing_is_said_when_all_is_within(tmp_path, capsys):
    words = ["--years", "1", "--replications", "1", "--workers", "1", "--policy", "nothing done"]
    assert main(["compare", *words, "--out", str(tmp_path)]) == 0
    assert "xtrapolated" not in capsys.readouterr().out
    assert "Extrapolated" not in (tmp_path / "report.html").read_text()
