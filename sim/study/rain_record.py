"""What a rain record is good for: too short a one is refused, and every answer says what it rests on."""

import numpy as np

from sim.errors import InputError
from sim.scenario.read.series import RainRecord
from sim.supply.record import Years, years_of

FEW_YEARS = 10  # with fewer an answer says so; common practice is 20 to 30
INSIST = "--one-rain-year"
_GREAT_DEPTH_M, _ALIKE = 0.05, 3  # so many days as wet, and alike to the digit, are no weather


def check_length(record: RainRecord, label: str, insists: bool = False, how: str = "") -> None:
    """Refuse a record of less than two complete years, or of less than one from who insists.

    Parameters
    ----------
    label : str
        Name of the file.
    how : str
        How to insist; empty where one cannot.

    Raises
    ------
    InputError
        One line: file, what it holds, what is wanted.
    """
    complete = years_of(record.depth_m, record.dates).complete
    first, last = record.dates[0], record.dates[-1]
    if complete.size == 0:
        raise InputError(
            f"{label}: {first} to {last} holds no complete calendar year (January to December); "
            f"wanted two or more, better {FEW_YEARS}"
        )
    if complete.size == 1 and not insists:
        raise InputError(
            f"{label}: holds one complete calendar year, {complete[0]}, which would come again every year; "
            f"wanted two or more, better {FEW_YEARS}{how and f' ({how})'}"
        )


def said(record: RainRecord | None) -> list[str]:
    """Return what an answer says of the recorded rain it rests on, in sentences; none without a record."""
    if record is None:
        return []
    years = years_of(record.depth_m, record.dates)
    dropped = left_out(record, years)
    return [part for part in (_length(years), _left_out(dropped), _alike(record)) if part]


def left_out(record: RainRecord, years: Years) -> list[int]:
    """Return the years of a record that no run takes, in order: those of which a day is missing."""
    return sorted({*record.left_out, *years.dropped.tolist()})


def _alike(record: RainRecord) -> str:
    """Ask about a great depth that comes again to the digit: records mark missing days so."""
    most_m = float(record.depth_m.max(initial=0.0))
    times = int(np.count_nonzero(record.depth_m == most_m))
    if most_m < _GREAT_DEPTH_M or times < _ALIKE:
        return ""
    return (
        f"Its wettest {times} days have {1e3 * most_m:g} mm each, to the digit: if that marks missing days, "
        "say so under [rain] of the site (missing)."
    )


def _length(years: Years) -> str:
    count = years.complete.size
    if count >= FEW_YEARS:
        return f"Rain is that of {count} recorded years, {listed(years.complete.tolist())}."
    held = "one recorded year" if count == 1 else f"only {count} recorded years"
    return (
        f"Rain is that of {held}, {listed(years.complete.tolist())}: with fewer than {FEW_YEARS}, "
        "a drier or wetter year than these is missing, so tanker loads and dry days may be too few."
    )


def _left_out(dropped: list[int]) -> str:
    if not dropped:
        return ""
    return f"{listed(dropped)} {'is' if len(dropped) == 1 else 'are'} left out, as days are missing."


def listed(years: list[int]) -> str:
    """Return years in words, those in a row by first and last."""
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    parts = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
