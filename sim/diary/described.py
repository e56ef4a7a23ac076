"""What the columns of a diary are, for whoever reads its files without this program."""

from collections.abc import Mapping
from pathlib import Path

from sim.disk import prepare, write_all
from sim.outcome.package import PACKAGE, field, package

READINGS, ACTS, FORECASTS = "readings.csv", "acts.csv", "forecasts.csv"
Told = Mapping[str, tuple[str, str]]  # type and description by column
SIGNED: Told = {
    "entered": ("datetime", "when the line was entered"),
    "mark": ("string", "digits made of all else in the line"),
    "replaces": ("string", "mark of the line that this one corrects or, without a value, takes back"),
}
READING: Told = {
    "phenomenon_time": ("string", "date, or date and time, local, by ISO 8601"),
    "observed_property": ("string", "what was read"),
    "result": ("string", "a number, or on, off, clear, found"),
    "unit": ("string", "unit of the result"),
    "procedure": ("string", "how it was read, such as the flow, or two gauges"),
    "result_quality": ("string", "sure, where whoever read it stands by an odd value"),
    "note": ("string", ""),
    **SIGNED,
}
ACT: Told = {
    "date": ("string", "date, or date and time, local, by ISO 8601"),
    "task": ("string", "what was done"),
    "stage": ("string", "at which stage"),
    "who": ("string", ""),
    "note": ("string", ""),
    **SIGNED,
}
FORECAST: Told = {
    "made": ("date", "end of the day on which it was made"),
    "part": ("string", "what it is about"),
    "limit": ("number", "limit it is about, a share or Pa"),
    "horizon_days": ("number", "later than that counts as that"),
    "members_days": ("string", "days to the event, a number a member"),
    "prior_days": ("string", "the same without readings"),
    "advised_days": ("number", "days to the date that was advised"),
    "calendar_days": ("number", "days to the event by the calendar"),
    "line_days": ("number", "days to the event by a line through the readings"),
    "diary": ("string", "digest of the diary it was made from"),
    "program": ("string", "version of the program"),
    "mark": SIGNED["mark"],
}


def described() -> bytes:
    """Return the file that says what the columns of a diary are."""
    tables = {
        name: [field(column, *one, "d" if column.endswith("_days") else "") for column, one in told.items()]
        for name, told in ((READINGS, READING), (ACTS, ACT), (FORECASTS, FORECAST))
    }
    return package("diary", "Diary of a house: readings, acts and forecasts", tables)


def describe(folder: Path) -> None:
    """Put that file into the folder of a diary, made where it is not there.

    Raises
    ------
    InputError
        When it cannot be written.
    """
    there, content = prepare(folder) / PACKAGE, described()
    if not there.is_file() or there.read_bytes() != content:
        write_all(folder, {PACKAGE: content})
