"""A CSV file as rows of text with their line numbers, and numbers read from it."""

import csv
import hashlib
import io
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.read.content import content_of, text_of
from sim.scenario.read.refusal import one_line, short

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)


@dataclass(frozen=True)
class Cell:
    """One cell, with what messages call the place."""

    text: str
    place: str


@dataclass(frozen=True)
class Sheet:
    """A CSV file with a header line."""

    label: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]  # line number in the file, cells
    sha256: str

    def require(self, column: str, how: str = "") -> None:
        """Refuse the file when a column is not there; say how another is named in its place."""
        if column not in self.columns:
            known = nearest(column, self.columns)
            raise refused(f"{self.label}: line 1: no column {short(column)}; {known}{how}")

    def cells(self, column: str) -> Iterator[tuple[int, Cell]]:
        """Walk down a column."""
        self.require(column)
        at = self.columns.index(column)
        for line, row in self.rows:
            yield line, Cell(row[at].strip() if at < len(row) else "", f"{self.label}: line {line}: {column}")


def refused(message: str) -> InputError:
    """Return the error for a message, on one line."""
    return InputError(one_line(message))


def read_sheet(path: Path) -> Sheet:
    """Read a CSV file with a header line; blank lines are passed over.

    Refused when the file is missing, a folder, a pipe, not UTF-8, not CSV, empty, or has a header only; or
    when a column stands twice, or a line has more cells than the header.
    """
    content = content_of(path, str(path), "a CSV file")
    lines = list(numbered_rows(text_of(content, str(path)), str(path)))
    if not lines:
        raise refused(f"{path}: is empty; wanted a header line and rows")
    if len(lines) == 1:
        raise refused(f"{path}: has a header line only; wanted rows")
    _check_separator(path.name, lines[0][1])
    header = tuple(cell.strip() for cell in check_shape(path.name, lines))
    return Sheet(path.name, header, tuple(lines[1:]), hashlib.sha256(content).hexdigest())


def _check_separator(label: str, header: tuple[str, ...]) -> None:
    """Refuse a table whose columns are apart by something else: all of its header stands in one cell."""
    for mark, called in ((";", "';'"), ("\t", "a tab"), ("|", "'|'")):
        if len(header) == 1 and mark in header[0]:
            raise refused(f"{label}: line 1: columns are apart by {called}; wanted ','")


def numbered_rows(text: str, called: str, separator: str = ",") -> Iterator[tuple[int, tuple[str, ...]]]:
    """Walk through the rows of a CSV text that hold anything, each with its line; refused when it is none."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        yield from ((reader.line_num, tuple(row)) for row in reader if any(cell.strip() for cell in row))
    except csv.Error as error:
        raise refused(f"{called}: line {reader.line_num}: is not CSV: {error}") from None


def check_shape(label: str, rows: Iterable[tuple[int, tuple[str, ...]]]) -> tuple[str, ...]:
    """Return the header of a table; refuse a column that stands twice, and a cell that has no column."""
    lines = iter(rows)
    _, header = next(lines)
    names = [" ".join(name.split()).casefold() for name in header]
    for at, name in enumerate(names):
        if name and name in names[:at]:
            raise refused(
                f"{label}: line 1: column {short(header[at])} stands twice; wanted each column once"
            )
    for line, row in lines:
        if len(row) > len(header):
            raise refused(
                f"{label}: line {line}: has {len(row)} cells; wanted {len(header)}, as the header has "
                "(a decimal comma cuts a number in two: wanted a decimal point)"
            )
    return header


def number(cell: Cell, wanted: str, above_zero: bool = False) -> float:
    """Read a number that must not be negative; refused when it is blank, text, not finite, or negative.

    Examples
    --------
    >>> number(Cell("3.5", "rain.csv: line 2: depth"), "a depth in mm")
    3.5
    """
    if not cell.text:
        raise refused(f"{cell.place}: is blank; wanted {wanted}")
    if not _NUMBER.fullmatch(cell.text):
        raise refused(f"{cell.place}: read {short(cell.text)}; wanted {wanted}")
    value = float(cell.text)
    if not math.isfinite(value) or value < 0 or (above_zero and value == 0):
        limit = "above 0" if above_zero else "not below 0"
        raise refused(f"{cell.place}: read {short(cell.text)}; wanted {wanted}, {limit}")
    return value
