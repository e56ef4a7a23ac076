"""A CSV file as rows of text with their line numbers, and numbers read from it."""

import csv
import hashlib
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sim.errors import InputError
from sim.scenario.nearest import nearest
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

    def require(self, column: str) -> None:
        """Refuse the file when a column is not there."""
        if column not in self.columns:
            raise refused(f"{self.label}: line 1: no column {short(column)}; {nearest(column, self.columns)}")

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

    Refused when the file is missing, a folder, not UTF-8, not CSV, empty, or has a header only.
    """
    content = _content(path)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise refused(f"{path}: line {line}: is not UTF-8; wanted a UTF-8 text file") from None
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        lines = [(reader.line_num, tuple(row)) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise refused(f"{path}: line {reader.line_num}: is not CSV: {error}") from None
    if not lines:
        raise refused(f"{path}: is empty; wanted a header line and rows")
    if len(lines) == 1:
        raise refused(f"{path}: has a header line only; wanted rows")
    header = tuple(cell.strip() for cell in lines[0][1])
    return Sheet(path.name, header, tuple(lines[1:]), hashlib.sha256(content).hexdigest())


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise refused(f"{path}: no such file; wanted a CSV file") from None
    except IsADirectoryError:
        raise refused(f"{path}: is a folder; wanted a CSV file") from None
    except (OSError, ValueError) as error:
        raise refused(f"{path}: cannot be read: {error}") from None


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
