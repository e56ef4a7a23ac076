"""Forecasts on disk: a line each, added when it is made and never changed."""

import csv
import hashlib
import io
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from sim.diary.described import FORECAST, FORECASTS
from sim.diary.forecast import Forecast
from sim.disk import append
from sim.errors import InputError
from sim.version import program_version

COLUMNS = tuple(FORECAST)
_MARK = 12  # digits


def read(folder: Path) -> tuple[Forecast, ...]:
    """Return the forecasts of a folder in the order in which they were made.

    Raises
    ------
    InputError
        One line: file, line, what is wrong.
    """
    path = folder / FORECASTS
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from None
    text = content[: content.rfind(b"\n") + 1].decode("utf-8", "replace")
    rows = list(csv.reader(io.StringIO(text, newline="")))
    if rows and tuple(rows[0]) != COLUMNS:
        raise InputError(f"{path.name}: line 1: wanted the columns {','.join(COLUMNS)}")
    return tuple(_forecast(path.name, number, row) for number, row in enumerate(rows[1:], 2))


def _forecast(label: str, number: int, row: list[str]) -> Forecast:
    if len(row) != len(COLUMNS) or row[-1] != _mark(row[:-1]):
        raise InputError(f"{label}: line {number}: was changed after it was written; wanted it as it was")
    made, part, limit, horizon, members, prior, advised, calendar, line, diary, _, _ = row
    return Forecast(
        date.fromisoformat(made), part, float(limit), float(horizon), _floats(members), _floats(prior),
        float(advised), float(calendar), float(line), diary,
    )  # fmt: skip


def keep(folder: Path, forecasts: Sequence[Forecast]) -> int:
    """Add forecasts, one a part, day and diary; return how many are new.

    Raises
    ------
    InputError
        When they cannot be written; none is then added.
    """
    there = {(one.made, one.part, one.digest) for one in read(folder)}
    fresh = [one for one in forecasts if (one.made, one.part, one.digest) not in there]
    if fresh:
        buffer = io.StringIO()
        csv.writer(buffer, lineterminator="\n").writerows(map(_row, fresh))
        append(folder / FORECASTS, f"{','.join(COLUMNS)}\n".encode(), buffer.getvalue().encode())
    return len(fresh)


def _row(one: Forecast) -> list[str]:
    cells = [
        one.made.isoformat(), one.part, repr(one.limit), repr(one.horizon_days), _joined(one.members),
        _joined(one.prior), repr(one.advised_days), repr(one.calendar_days), repr(one.line_days), one.digest,
        program_version(),
    ]  # fmt: skip
    return [*cells, _mark(cells)]


def _joined(values: Sequence[float]) -> str:
    return " ".join(map(repr, values))


def _floats(text: str) -> tuple[float, ...]:
    return tuple(map(float, text.split()))


def _mark(cells: Sequence[str]) -> str:
    return hashlib.sha256("\x1f".join(cells).encode()).hexdigest()[:_MARK]
