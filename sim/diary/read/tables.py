"""Tables of readings and acts as people keep them: long, a line each, or wide, a column each."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sim.diary.book import Cells
from sim.diary.described import SIGNED
from sim.diary.properties import property_of
from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.read.refusal import short
from sim.scenario.read.sheet import Sheet, read_sheet, refused
from sim.scenario.scenario import Scenario

LONG = ("phenomenon_time", "observed_property", "result")
OPTIONAL = ("procedure", "result_quality", "note")
DONE = ("date", "task", "stage", "who", "note")
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
        return Rows(tuple(_picked(sheet, columns, (*LONG, "unit", *OPTIONAL))))
    if "task" in columns and "date" in columns:
        return Rows((), tuple(_picked(sheet, columns, DONE)))
    first = next((columns[name] for name in TIMES if name in columns), None)
    if first is None:
        raise refused(
            f"{sheet.label}: line 1: wanted the columns {', '.join(LONG)}, or date and task, "
            "or date and a column for each thing read, such as 'UV [%]'"
        )
    return Rows(tuple(_wide(sheet, first, scenario)))


def _picked(sheet: Sheet, columns: dict[str, str], wanted: tuple[str, ...]) -> Iterator[tuple[str, Cells]]:
    """Walk down the rows of a long table; those of a diary are signed, and may not correct each other."""
    known = (*wanted, *SIGNED)
    for at, heading in enumerate(sheet.columns):
        if heading.casefold() not in known and not _is_empty(sheet, at):
            said = f"nothing called {short(heading)} is taken from here; {nearest(heading, known)}"
            raise refused(f"{sheet.label}: line 1: column {at + 1}: {said}")
    places = {name: sheet.columns.index(columns[name]) for name in known if name in columns}
    for line, row in sheet.rows:
        cells = {name: row[at].strip() if at < len(row) else "" for name, at in places.items()}
        if cells.get("replaces"):
            raise refused(
                f"{sheet.label}: line {line}: replaces: read {short(cells['replaces'])}; wanted lines that "
                "stand as they are: leave out those that are corrected"
            )
        yield f"{sheet.label}: line {line}", {name: cells.get(name, "") for name in wanted}


def _is_empty(sheet: Sheet, at: int) -> bool:
    """Return whether a column has no heading and nothing in it, as tables end in when they were saved so."""
    return not sheet.columns[at] and not any(at < len(row) and row[at].strip() for _, row in sheet.rows)


def _wide(sheet: Sheet, first: str, scenario: Scenario) -> Iterator[tuple[str, Cells]]:
    """Walk down the rows of a wide table; an empty cell is nothing read."""
    headings = []
    for at, heading in enumerate(sheet.columns):
        if heading == first or heading.casefold() in OPTIONAL or _is_empty(sheet, at):
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
        shared = {name: row[at].strip() for name, at in others.items() if at < len(row)}
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
