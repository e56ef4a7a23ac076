"""What the columns of tables are, beside them as a Data Package 2.0 with Table Schema, an open standard."""

import json

import pytest

from sim.outcome.package import field, of_rows, package, unit_of

# By hand, from what each measure is; rows are yearly sums but for levels, spans and names.
UNITS = {
    "cost": "currency/yr",
    "cost_parts": "currency/yr",
    "days_below_target": "d/yr",
    "silent_days": "d/yr",
    "days_by_lamp_died": "d/yr",
    "excess_days_by_power_cut": "d/yr",
    "alarm_h_by_film": "h/yr",
    "days_of_two_causes": "d/yr",
    "days_expected": "d/yr",
    "water_off_h": "h/yr",
    "water_off_h_by_service": "h/yr",
    "supplied_m3": "m3/yr",
    "low_pressure_min": "min/yr",
    "pump_kwh": "kWh/yr",
    "least_dose_j_m2": "J/m2",
    "longest_run_s": "s",
    "tap_least_pa": "Pa",
    "over_uv_share": "fraction",
    "ledger_error": "fraction",
    "years": "yr",
    "cartridge_days": "d",
    "unusable_from_day": "d",
    "policy": "",
    "replication": "",
    "extrapolated": "",
    "visits": "1/yr",
    "h": "h/yr",  # the whole name may be the unit
    "alarms": "1/yr",  # ends in an s, but not in "_s"
}


@pytest.mark.parametrize(("column", "unit"), UNITS.items())
def test_a_column_says_its_unit(column, unit):
    assert unit_of(column) == unit


def test_rows_say_type_and_unit_of_each_column_in_their_order():
    kinds = {"policy": "O", "replication": "i", "visits": "u", "cost": "f", "extrapolated": "b"}
    found = json.loads(of_rows(kinds))
    (rows,) = found["resources"]
    assert (rows["name"], rows["path"]) == ("rows", "rows.csv")
    assert rows["schema"]["fields"] == [
        {"name": "policy", "type": "string"},
        {"name": "replication", "type": "integer"},
        {"name": "visits", "type": "integer", "unit": "1/yr"},
        {"name": "cost", "type": "number", "unit": "currency/yr"},
        {"name": "extrapolated", "type": "boolean"},
    ]


def test_a_package_is_one_by_its_standard():
    """Names and words of Data Package 2.0: a profile, and a resource a table with type and media type."""
    columns = [field("drop", "number", "over the cartridge", "kPa"), field("when", "date")]
    text = package("diary", "Messwerte für ein Haus", {"readings.csv": columns, "acts.csv": []})
    found = json.loads(text)
    assert text.endswith(b"}\n") and "für".encode() in text  # as it is read, not escaped
    assert found["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert (found["name"], found["title"]) == ("diary", "Messwerte für ein Haus")
    first, second = found["resources"]
    assert first == {
        "name": "readings", "path": "readings.csv", "type": "table", "format": "csv", "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": {
            "fields": [
                {"name": "drop", "type": "number", "description": "over the cartridge", "unit": "kPa"},
                {"name": "when", "type": "date"},
            ],
            "missingValues": [""],
        },
    }  # fmt: skip
    assert second["name"] == "acts" and second["schema"]["fields"] == []
