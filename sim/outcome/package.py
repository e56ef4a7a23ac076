"""What the columns of tables are, in a file beside them: `datapackage.json`, an open standard."""

import json
from collections.abc import Mapping, Sequence

PACKAGE = "datapackage.json"
# Data Package 2.0 and its Table Schema (open standard, profile by its address); "unit" is a word of ours.
_PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
Field = dict[str, object]
_YEARLY = {"h": "h/yr", "m3": "m3/yr", "min": "min/yr", "kwh": "kWh/yr"}
_BY = {"days": "d/yr", "h": "h/yr"}
_LEVELS = {"j_m2": "J/m2", "s": "s", "pa": "Pa", "share": "fraction", "error": "fraction"}
_OTHERS = {"years": "yr", "cartridge_days": "d", "unusable_from_day": "d"}
_BARE = ("policy", "replication", "extrapolated")


def field(name: str, kind: str, description: str = "", unit: str = "") -> Field:
    """Return a column.

    Parameters
    ----------
    kind : str
        Type by Table Schema, such as "number".
    """
    more = {"description": description, "unit": unit}
    return {"name": name, "type": kind, **{key: value for key, value in more.items() if value}}


def unit_of(column: str) -> str:
    """Return the unit of a column of the rows of runs; a count is one a year.

    Examples
    --------
    >>> unit_of("water_off_h_by_service"), unit_of("tap_least_pa"), unit_of("alarms")
    ('h/yr', 'Pa', '1/yr')
    """
    if column in _BARE or column in _OTHERS:
        return _OTHERS.get(column, "")
    if column.startswith("cost"):
        return "currency/yr"
    name, by, _ = column.partition("_by_")
    units = _BY if by else {**_YEARLY, **_LEVELS}
    if not by and ("days_" in name or name.endswith("_days")):
        return "d/yr"
    return next((unit for end, unit in units.items() if name == end or name.endswith(f"_{end}")), "1/yr")


def of_rows(kinds: Mapping[str, str]) -> bytes:
    """Return the file that says what the columns of `rows.csv` are.

    Parameters
    ----------
    kinds : mapping of str to str
        Kind of a NumPy type by column.
    """
    types = {"i": "integer", "u": "integer", "f": "number", "b": "boolean"}
    fields = [field(name, types.get(kind, "string"), unit=unit_of(name)) for name, kind in kinds.items()]
    return package("rows", "Runs, a row each; all in SI and by year", {"rows.csv": fields})


def package(name: str, title: str, tables: Mapping[str, Sequence[Field]]) -> bytes:
    """Return the file that says what the columns of CSV tables are.

    Parameters
    ----------
    tables : mapping of str to sequence of dict
        Columns by file name.
    """
    resources = [
        {
            "name": file.removesuffix(".csv"),
            "path": file,
            "type": "table",
            "format": "csv",
            "mediatype": "text/csv",
            "encoding": "utf-8",
            "schema": {"fields": list(fields), "missingValues": [""]},
        }
        for file, fields in tables.items()
    ]
    found = {"$schema": _PROFILE, "name": name, "title": title, "resources": resources}
    return (json.dumps(found, indent=1, ensure_ascii=False) + "\n").encode()
