"""What a command took: the site's file and what it leaves to others, its series and how much counts, options.

The one place that words it; it stands in the manifest as it is and is printed beside the answer.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np

from sim.constants import DAY_S
from sim.scenario.read import load
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values.digest import draws_digest
from sim.study.draws_record import days_covered
from sim.study.rain_record import left_out, listed
from sim.study.wording import counted
from sim.supply.record import years_of
from sim.units import shown, text

Taken = dict[str, Any]  # plain data, as JSON has it
_MOST_SHOWN = 6  # keys that are kept


def own_summary(scenario: Scenario, built_in: bool) -> str:
    """Return what a site says it is; empty for a file that keeps what a built-in house says of itself."""
    return scenario.summary if built_in or scenario.summary not in _built_in_summaries() else ""


@cache  # pages ask each time they are drawn
def _built_in_summaries() -> frozenset[str]:
    return frozenset(load.load(name).summary for name in load.built_in())


def of_rain(record: RainRecord, file: str) -> Taken:
    """Return what is told of recorded rain."""
    years = years_of(record.depth_m, record.dates)
    return {
        "file": file,
        "sha256": record.digest,
        "rows": int(record.dates.size),
        "first": str(record.dates[0]),
        "last": str(record.dates[-1]),
        "total_mm": round(1e3 * float(record.depth_m.sum()), 1),
        "years_used": years.complete.tolist(),
        "years_dropped": left_out(record, years),
    }


def of_draws(draws: Mapping[str, Any], file: str, start: date, n_days: int | None, repeats: bool) -> Taken:
    """Return what is told of metered draws as they stand in their file.

    Parameters
    ----------
    start : date
        First day of the run.
    n_days : int or None
        Days of the run; None where nothing is run.
    repeats : bool
        Whether they are taken over and over.
    """
    start_s, duration_s = draws["start_s"], draws["duration_s"]
    volume_m3 = np.where(np.isnan(duration_s), draws["volume_m3"], draws["flow_m3_s"] * duration_s)
    first, last = (int(at // DAY_S) for at in (start_s.min(), start_s.max()))
    found = {
        "file": file,
        "digest": draws_digest(dict(draws)),
        "rows": int(start_s.size),
        "first": str(start + timedelta(days=first)),
        "last": str(start + timedelta(days=last)),
        "days": last - first + 1,
        "litres_a_day": round(1e3 * float(volume_m3.sum()) / (last - first + 1), 1),
        "repeated": repeats,
    }
    if n_days is None:
        return found
    rows_after = 0 if repeats else int((start_s >= n_days * DAY_S).sum())
    covered = n_days if repeats else days_covered(start_s, n_days)
    return found | {"days_covered": covered, "days_of_run": n_days, "rows_after_run": rows_after}


def lines(took: Taken | None) -> list[str]:
    """Return what was taken, a line each; none where nothing is told."""
    if not took:
        return []
    units = took["options"].get("units", "si")
    found = [_site(took["site"])]
    found.append(_rain(took["rain"], units) if "rain" in took else f"rain generated for {took['climate']!r}")
    if "draws" in took:
        found.append(_draws(took["draws"], units))
    options = ", ".join(f"{name} {_value(value)}" for name, value in took["options"].items())
    return [f"Took {line}." for line in [*found, *([f"options: {options}"] if options else [])]]


def _site(site: Taken) -> str:
    if "extends" not in site:
        return f"site {site['name']}"
    kept: Sequence[str] = sorted(site["kept"], key=lambda key: "." not in key)  # what is near to what is said
    shown = ", ".join(kept[:_MOST_SHOWN]) or "nothing"
    left = len(kept) - _MOST_SHOWN
    more = f" and {counted(left, 'more key or table', 'more keys or tables')}" if left > 0 else ""
    return f"site {site['name']}; it keeps from {site['extends']}: {shown}{more}"


def _rain(rain: Taken, units: str) -> str:
    dropped = f"; left out: {listed(rain['years_dropped'])}" if rain["years_dropped"] else "; none left out"
    total, unit = shown(1e-3 * rain["total_mm"], "rain", units)
    return (
        f"rain {rain['file']}: {rain['rows']:,} rows, {rain['first']} to {rain['last']}, "
        f"{total:,.0f} {unit} in all; whole years: {listed(rain['years_used'])}{dropped}"
    )


def _draws(draws: Taken, units: str) -> str:
    found = (
        f"draws {draws['file']}: {draws['rows']:,} rows, {draws['first']} to {draws['last']}, "
        f"{text(1e-3 * draws['litres_a_day'], 'volume', units)} a day"
    )
    if "days_of_run" not in draws:
        return found
    how = (
        "over and over"
        if draws["repeated"]
        else f"{draws['days_covered']:,} of {draws['days_of_run']:,} days"
    )
    after = (
        f"; {draws['rows_after_run']:,} rows after the run are not used" if draws["rows_after_run"] else ""
    )
    return f"{found}; {how}{after}"


def _value(value: Any) -> str:
    if isinstance(value, list):
        return " + ".join(map(_value, value))
    if isinstance(value, float):
        return f"{value:.15g}"
    return "yes" if value is True else repr(value) if isinstance(value, str) and " " in value else str(value)
