"""The form says of a key what the schema says: every key is there, every limit is the loader's."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dashboard.change.changes import Changes, applied
from dashboard.change.fields import (
    as_typed,
    by_file_keys,
    field_at,
    in_si,
    key_of,
    read,
    said,
    said_limits,
    same,
    unit_for,
)
from dashboard.change.value_groups import QUESTIONS, offered, paths_of
from dashboard.words import named
from sim.errors import InputError
from sim.scenario.care import Rule
from sim.scenario.read import load
from sim.scenario.values.bounds import beyond
from sim.units import GALLON_M3, PSI_PA, units_of

TABLES = {name: load.tables(path.read_text(encoding="utf-8"), name) for name, path in load.built_in().items()}
DEMO = TABLES[load.DEMO]
OFFERED = sorted(paths_of(DEMO))
BOUNDED = [(path, bound) for path in OFFERED for bound in field_at(path).bounds]


def refusal(path, value):
    """Return what the loader says of the demo with one value changed, blank when it takes it."""
    try:
        load.checked(applied(DEMO, Changes({path: value})), "site.toml")
    except InputError as error:
        return str(error)
    return ""


def written(path, number):
    field = field_at(path)
    if field.kind:
        return f"{number!r} {units_of(field.kind)[0]}"
    return round(number) if field.type is int else number


@pytest.mark.parametrize("name", TABLES)
def test_every_question_has_keys_and_each_is_in_the_schema(name):
    for question, keys in offered(TABLES[name]).items():
        assert len(keys) >= len(QUESTIONS[question]), question
        for path in keys:
            field = field_at(path)
            value = read(TABLES[name], path)
            assert value is not None or field.default is not None or field.optional, key_of(path)
            assert in_si(field, value) is not None or field.choices or field.type is bool or value is None


def test_a_key_that_is_not_in_the_schema_is_not_found():
    for path in [("roof", "aera"), ("stage", "sediment"), ("roof",), ("roof", "area", "x")]:
        with pytest.raises(KeyError):
            field_at(path)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(BOUNDED), st.floats(1e-9, 0.5))
def test_limits_are_those_of_the_loader(case, away):
    path, bound = case
    bounds = field_at(path).bounds
    limit = bounds[bound]
    room = min((abs(other - limit) for other in bounds.values() if other != limit), default=1.0)
    step = 1.0 if field_at(path).type is int else away * room
    outward = -step if bound in ("gt", "ge") else step
    head = f"site.toml: {key_of(path)}: read"
    outside = limit if bound in ("gt", "lt") else limit + outward
    assert refusal(path, written(path, outside)).startswith(head)
    inside = limit if bound in ("ge", "le") else limit - outward
    kind = field_at(path).kind
    assume(kind is None or not beyond(inside, kind))  # too small to be meant, whatever the field
    # What does not go with other values is another matter, and is not said of what was read.
    assert not refusal(path, written(path, inside)).startswith(head)


def test_choices_are_those_of_the_loader():
    chosen = [path for path in OFFERED if field_at(path).choices]
    assert {path[-1] for path in chosen} == {"arranged", "climate", "rated_at", "restrictor_kind", "speed"}
    for path in chosen:
        assert len(field_at(path).choices) > 1
        said = {refusal(path, word) for word in field_at(path).choices}
        assert not any(
            "read" in line for line in said
        )  # what does not go with other values is another matter
        assert said == {""} or path[-1] == "speed"
    assert "wanted" in refusal(("uv", "rated_at"), "no such state")


def test_names_that_stand_for_numbers_are_those_of_the_loader():
    path = ("stage", "sediment", "law")
    field = field_at(path)
    # Hermia 1982: cake, intermediate, standard and complete blocking have n = 0, 1, 3/2, 2
    assert field.names == {"cake": 0.0, "intermediate": 1.0, "standard": 1.5, "complete": 2.0}
    assert {refusal(path, word) for word in (*field.names, "0.75", 1.3)} == {""}
    assert "wanted a number or 'complete'" in refusal(path, "no such law")
    assert [in_si(field, value) for value in ("cake", "0.75", 1.3, "no such law")] == [0.0, 0.75, 1.3, None]
    assert [said(field, value, "") for value in ("cake", 0.9, "0.75")] == ["cake", "0.9", "0.75"]
    assert same(field, "intermediate", 1.0)
    assert not same(field, "intermediate", 0.9)


def test_limits_and_values_are_said_in_the_chosen_units():
    cut_in = field_at(("pressure_switch", "cut_in"))
    # NIST SP 811 (2008) appendix B: 1 psi is 6.894 757 E+03 Pa, 1 US gallon 3.785 412 E-03 m3
    assert said_limits(cut_in, "psi") == f"above 0 psi, at most {1e6 / PSI_PA:.3f} psi"
    assert unit_for(cut_in, "40 psi", "si") == "kPa"
    assert said(cut_in, "40 psi", "kPa") == "275.79 kPa"
    capacity = field_at(("cistern", "capacity"))
    assert said(capacity, "35 m3", unit_for(capacity, "35 m3", "us")) == f"{35 / GALLON_M3:.2f} gal"
    film = field_at(("uv", "sleeve_film"))
    assert said(film, "1.1 1/yr", unit_for(film, "1.1 1/yr", "us")) == "1.1 1/yr"
    assert said_limits(field_at(("people", "adherence")), "%") == "above 0 %, at most 100 %"


def test_a_bare_number_is_meant_in_the_unit_shown_and_nothing_else_is_touched():
    cut_in = field_at(("pressure_switch", "cut_in"))
    assert as_typed(cut_in, " 45 ", "psi") == "45 psi"
    assert as_typed(cut_in, "3 bar", "psi") == "3 bar"
    assert as_typed(cut_in, "forty", "psi") == "forty"


@given(
    st.sampled_from([path for path in OFFERED if field_at(path).kind]),
    st.floats(1e-6, 1e9),
    st.sampled_from(["us", "si"]),
)
def test_what_is_shown_is_what_is_held_to_six_digits(path, number, system):
    field = field_at(path)
    value = written(path, number)
    shown = said(field, value, unit_for(field, read(DEMO, path), system))
    assert math.isclose(in_si(field, shown), in_si(field, value), rel_tol=5.1e-6)


def test_a_rule_has_its_fields_too():
    assert field_at(("when",), Rule).choices == ("calendar", "reading", "failure")
    assert field_at(("drop_above",), Rule).kind == "pressure"
    assert field_at(("every",), Rule).bounds == {"ge": 3600.0}  # an hour


def test_a_field_written_under_its_own_name_is_found_under_its_key():
    found = by_file_keys({"roof": {"area_m2": "1 m2"}, "stage": [{"name": "a", "rating_m": "5 um"}]})
    assert found == {"roof": {"area": "1 m2"}, "stage": [{"name": "a", "rating": "5 um"}]}


def test_a_label_reads_as_it_is_written_and_shows_no_markup():
    assert named("Roof area, seen from above") == "Roof area, seen from above"
    assert named("5 um (fine): rating") == "5 um (fine): rating"
    assert named("<b>:red[x] *y* [z](w)") == "\\<b\\>\\:red\\[x\\] \\*y\\* \\[z\\](w)"
