"""Tables of readings and acts as people keep them: long, a line each, or wide, a column each."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sim.diary.book import Cells
from sim.diary.properties import property_of
from sim.errors import InputError
from sim.scenario.read.sheet import Sheet, read_sheet, refused
from sim.scenario.scenario import Scenario

LONG = ("phenomenon_time", "observed_property", "result")
OPTIONAL = ("unit", "procedure", "result_quality", "note")
TIMES = ("phenomenon_time", "date", "time", "day")
_HEADING = re.compile(r"(.+?)\s*(?:[\[(](.*?)[\])])?")


@dataclass(frozen=True)
class Rows:
    """Rows of a file, each with its place.

    Attributes
    ----------
    readings, acts : tuple
        Pairs of place and cells.
    """

    readings: tuple[tuple[str, Cells], ...]
    acts: tuple[tuple[str, Cells], ...] = ()


def rows_of(path: Path, scenario: Scenario) -> Rows:
    """Read a table of readings or acts from CSV, whatever its form.

    Raises
    ------
    InputError
        One line: file, line, column, what was read, what is wanted.
    """
    sheet = read_sheet(path)
    columns = {name.casefold(): name for name in sheet.columns}
    if all(name in columns for name in LONG):
        return Rows(tuple(_picked(sheet, {name: columns.get(name, "") for name in (*LONG, *OPTIONAL)})))
    if "task" in columns and "date" in columns:
        wanted = ("date", "task", "stage", "who", "note")
        return Rows((), tuple(_picked(sheet, {name: columns.get(name, "") for name in wanted})))
    first = next((columns[name] for name in TIMES if name in columns), None)
    if first is None:
        raise refused(
            f"{sheet.label}: line 1: wanted the columns {', '.join(LONG)}, or date and task, "
            "or date and a column for each thing read, such as 'UV [%]'"
        )
    return Rows(tuple(_wide(sheet, first, scenario)))


def _picked(sheet: Sheet, columns: dict[str, str]) -> Iterator[tuple[str, Cells]]:
    places = {name: sheet.columns.index(column) for name, column in columns.items() if column}
    for line, row in sheet.rows:
        cells = {name: row[at].strip() if at < len(row) else "" for name, at in places.items()}
        yield f"{sheet.label}: line {line}", cells


def _wide(sheet: Sheet, first: str, scenario: Scenario) -> Iterator[tuple[str, Cells]]:
    """Walk down the rows of a wide table; an empty cell is nothing read."""
    headings = []
    for at, heading in enumerate(sheet.columns):
        if heading == first or heading.casefold() in OPTIONAL or not heading:
            continue
        match = _HEADING.fullmatch(heading)
        words, unit = (match[1], match[2] or "") if match else (heading, "")
        try:
            property_of(words, scenario)
        except InputError as error:
            raise refused(f"{sheet.label}: line 1: column {at + 1}: {error}") from None
        headings.append((at, words, unit))
    others = {name.casefold(): at for at, name in enumerate(sheet.columns) if name.casefold() in OPTIONAL}
    time_at = sheet.columns.index(first)
    for line, row in sheet.rows:
        shared = {name: row[at].strip() for name, at in others.items() if at < len(row) and name != "unit"}
        for at, words, unit in headings:
            if at < len(row) and row[at].strip():
                yield (
                    f"{sheet.label}: line {line}: {words}",
                    {
                        **shared,
                        "phenomenon_time": row[time_at].strip() if time_at < len(row) else "",
                        "observed_property": words,
                        "result": row[at].strip(),
                        "unit": unit,
                    },
                )
