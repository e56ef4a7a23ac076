"""The JSON Schema of site files: it takes our files, and refuses what the reader does."""

import json
import tomllib
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from sim import cli
from sim.errors import InputError
from sim.scenario.read.load import load_text
from sim.scenario.schema import FILE, site_schema

ROOT = Path(str(files("scenarios")))
CHECKED = jsonschema.Draft202012Validator(site_schema(), format_checker=jsonschema.FormatChecker())
FILES = sorted([*ROOT.glob("*.toml"), Path(__file__).parents[1] / "own_house.toml"])
# Each is refused by the reader, by its one line; most for a single key.
REFUSED = (
    'pressure_switch = { cut_in = "40 gpm" }',
    "pressure_switch = { cut_in = 40 }",
    'pressure_switch = { cutin = "40 psi" }',
    'pressure_switch = { cut_in = "forty psi" }',
    'pressure_switch = { cut_in = "" }',
    'roof = { area = "230" }',
    'roof = { area = "230 psi" }',
    'roof = { coefficient = "much" }',
    "roof = 3",
    'house = { people = "four" }',
    "house = { people = -1 }",
    'uv = { alarm = "60 psi" }',
    "uv = { alarm = true }",
    'start = "soon"',
    'years = "five"',
    "years = 0",
    'nonsense = "1 m"',
    'stage = [{ name = "sediment", law = "cakes" }]',
    'stage = [{ name = "sediment", dirt_capacity = "3 m" }]',
    'stage = [{ name = "sediment", housings = 0 }]',
    'policy = [{ name = "x", rule = [{ task = "replace lamp", when = "sometimes" }] }]',
    'policy = [{ name = "x", rule = [{ task = "replace lamp", when = "calendar", every = 90 }] }]',
    'people = { adherence = "lots" }',
    "people = { adherence = 3 }",
    "prices = { currency = 5 }",
    'rain = { climate = "moon" }',
)


def plain(value):
    """Return what TOML read as JSON has it: dates as text."""
    return json.loads(json.dumps(value, default=str))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_file_that_comes_with_the_project_is_taken(path):
    data = plain(tomllib.loads(path.read_text(encoding="utf-8")))
    assert [error.message for error in CHECKED.iter_errors(data)] == []


def test_nine_in_ten_of_what_the_reader_refuses_is_refused():
    told = {}
    for line in REFUSED:
        text = f'extends = "family_house"\n{line}'
        with pytest.raises(InputError):
            load_text(text, "x.toml")
        told[line] = not CHECKED.is_valid(plain(tomllib.loads(text)))
    missed = [line for line, found in told.items() if not found]
    assert len(missed) <= 0.1 * len(REFUSED), missed


def test_a_key_explains_itself_by_grade_and_range():
    area = site_schema()["$defs"]["Roof"]["properties"]["area"]
    assert "230 m2" in area["description"] and "believed from" in area["description"]
    assert area["anyOf"][0]["examples"] == ["180 m2"]


def test_the_command_prints_a_schema_that_is_one(capsys):
    assert cli.main(["schema"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(found)
    assert found["$schema"].endswith("2020-12/schema")


def test_the_schema_beside_the_built_in_files_is_the_one_the_command_prints(capsys):
    assert cli.main(["schema"]) == 0
    assert (ROOT / FILE).read_text(encoding="utf-8") == capsys.readouterr().out
    for path in ROOT.glob("*.toml"):  # the directive by which language servers of TOML find it
        assert path.read_text(encoding="utf-8").startswith(f"#:schema ./{FILE}\n")
