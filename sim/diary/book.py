"""The diary of a house on disk: readings and acts, a line each, added and never changed.

A line says when it was entered and carries a mark made of all that stands in it. A correction is a new line
that names the mark of the old one; without a result or a task it takes the old one back.
"""

import csv
import hashlib
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TypeVar

from sim.diary.described import ACT, ACTS, READING, READINGS, describe
from sim.diary.entries import Act, Reading, act_of, reading_of, said
from sim.disk import append, as_text
from sim.errors import InputError
from sim.scenario.scenario import Scenario

READING_COLUMNS, ACT_COLUMNS = tuple(READING), tuple(ACT)
_MARK = 12  # digits
_BETWEEN = "\x1f"

Cells = Mapping[str, str]
T = TypeVar("T", Reading, Act)


@dataclass(frozen=True)
class Line:
    """One line as it stands in a file.

    Attributes
    ----------
    place : str
        What messages call it.
    cells : mapping of str to str
        By column.
    """

    place: str
    cells: Cells


@dataclass(frozen=True)
class Diary:
    """What counts: corrections made, what stands twice once, in order of time."""

    readings: tuple[Reading, ...]
    acts: tuple[Act, ...]

    @property
    def begun(self) -> bool:
        """Whether it has a line: without one nothing tells this house from any house like it."""
        return bool(self.readings or self.acts)

    def until(self, day: date) -> "Diary":
        """Return what was known at the end of a day."""
        return Diary(
            tuple(one for one in self.readings if one.at.date() <= day),
            tuple(one for one in self.acts if one.at.date() <= day),
        )


@dataclass(frozen=True)
class Added:
    """What came of adding lines: the marks of the new ones, and how many stood there already."""

    marks: tuple[str, ...]
    known: int


class Book:
    """The diary of one site in a folder."""

    def __init__(self, folder: Path, scenario: Scenario, today: date):
        """Look at a folder, which need not be there yet."""
        self.folder, self.scenario, self.today = folder, scenario, today

    def read(self) -> Diary:
        """Return what counts.

        Raises
        ------
        InputError
            One line: file, line, what was read, what is wanted.
        """
        readings = self._counting(READINGS, READING_COLUMNS, reading_of, "result")
        acts = self._counting(ACTS, ACT_COLUMNS, act_of, "task")
        return Diary(tuple(sorted(set(readings))), tuple(sorted(set(acts))))

    def add_readings(self, rows: Sequence[Cells], entered: datetime) -> Added:
        """Add readings; what stands there already is not added again.

        Raises
        ------
        InputError
            When one cannot be read, or the disk is full; none is then added.
        """
        return self._add(READINGS, READING_COLUMNS, reading_of, "result", rows, entered)

    def add_acts(self, rows: Sequence[Cells], entered: datetime) -> Added:
        """Add acts; what stands there already is not added again.

        Raises
        ------
        InputError
            When one cannot be read, or the disk is full; none is then added.
        """
        return self._add(ACTS, ACT_COLUMNS, act_of, "task", rows, entered)

    def lines(self, name: str) -> tuple[Line, ...]:
        """Return all lines of a file, those that were corrected as well."""
        return tuple(_lines(self.folder / name, READING_COLUMNS if name == READINGS else ACT_COLUMNS))

    def _counting(
        self, name: str, columns: Sequence[str], parse: Callable[[Cells, Scenario, date], T], needed: str
    ) -> list[T]:
        lines = list(_lines(self.folder / name, columns))
        _check_replaced(lines)
        gone = {line.cells["replaces"] for line in lines} - {""}
        found = []
        for line in lines:
            if line.cells["mark"] in gone or not line.cells[needed]:
                continue
            try:
                found.append(parse(line.cells, self.scenario, self.today))
            except InputError as error:
                raise said(error, line.place) from None
        return found

    def _add(
        self,
        name: str,
        columns: Sequence[str],
        parse: Callable[[Cells, Scenario, date], T],
        needed: str,
        rows: Sequence[Cells],
        entered: datetime,
    ) -> Added:
        known = set(self._counting(name, columns, parse, needed))
        marks_there = {line.cells["mark"] for line in _lines(self.folder / name, columns)}
        fresh, doubled = [], 0
        for row in rows:
            old = row.get("replaces", "")
            if old and old not in marks_there:
                raise InputError(f"replaces: no line has the mark {old!r}; wanted one that stands in {name}")
            if row.get(needed) or not old:
                one = parse(row, self.scenario, self.today)
                if one in known and not old:
                    doubled += 1
                    continue
                known.add(one)
            fresh.append(_signed(row, columns, entered))
        if fresh:
            describe(self.folder)
            header = ",".join(columns) + "\n"
            append(self.folder / name, header.encode(), _csv(fresh, columns).encode())
        return Added(tuple(row["mark"] for row in fresh), doubled)


def mark_of(cells: Cells, columns: Sequence[str]) -> str:
    """Return the mark of a line: digits made of everything else that stands in it."""
    content = _BETWEEN.join(cells.get(column, "") for column in columns if column != "mark")
    return hashlib.sha256(content.encode()).hexdigest()[:_MARK]


def _signed(row: Cells, columns: Sequence[str], entered: datetime) -> dict[str, str]:
    cells = {column: as_text(_plain(row.get(column, ""))) for column in columns}
    cells["entered"] = entered.replace(microsecond=0).isoformat()
    cells["mark"] = mark_of(cells, columns)
    return cells


def _plain(text: str) -> str:
    """Return a cell on one line; a line of the diary is a line of the file."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _csv(rows: Sequence[Cells], columns: Sequence[str]) -> str:
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, columns, lineterminator="\n")
    writer.writerows(rows)
    return buffer.getvalue()


def _lines(path: Path, columns: Sequence[str]) -> Iterator[Line]:
    """Walk through the whole lines of a file; half a line at the end is somebody's who is still writing."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from None
    try:
        text = content[: content.rfind(b"\n") + 1].decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError(f"{path.name}: line {line}: is not UTF-8; wanted a UTF-8 text file") from None
    reader = csv.reader(io.StringIO(text, newline=""))
    for number, row in enumerate(reader, 1):
        place = f"{path.name}: line {number}"
        if number == 1:
            if tuple(row) != tuple(columns):
                read, wanted = ",".join(row)[:60], ",".join(columns)
                raise InputError(f"{place}: read {read!r}; wanted the columns {wanted}")
            continue
        if len(row) != len(columns):
            raise InputError(f"{place}: has {len(row)} cells; wanted {len(columns)}")
        cells = dict(zip(columns, row, strict=True))
        if cells["mark"] != mark_of(cells, columns):
            raise InputError(
                f"{place}: was changed after it was entered; "
                f"wanted a new line that replaces {cells['mark']!r}"
            )
        yield Line(place, cells)


def _check_replaced(lines: Sequence[Line]) -> None:
    """Refuse a correction of nothing, and one that would correct itself in a circle."""
    seen: set[str] = set()
    for line in lines:
        old = line.cells["replaces"]
        if old and old not in seen:
            raise InputError(f"{line.place}: replaces {old!r}, which no line before it has")
        seen.add(line.cells["mark"])
