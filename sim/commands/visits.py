"""`visits`: the service calendar of the coming year and a sheet to print for each visit."""

import argparse
from datetime import UTC, date, datetime, timedelta

import pandas as pd

from sim.commands.inputs import chosen, read
from sim.errors import InputError
from sim.scenario.scenario import Scenario
from sim.study.runs import store
from sim.study.visits.icalendar_file import calendar, zone
from sim.study.visits.service_sheet import minutes, numbered, parts, summary
from sim.study.visits.visits import Visit, read_date, read_done
from sim.study.visits.visits import visits as visits_of

MOST_DAYS = 366


def visits(options: argparse.Namespace) -> int:
    """Write the visits of a year as a calendar, as sheets and as a table."""
    if not 0 <= options.together <= MOST_DAYS:
        raise InputError(f"--together is {options.together} days; wanted 0 to {MOST_DAYS}")
    scenario = read(options).scenario
    policy = chosen(scenario.policies, options.policy) if options.policy else scenario.policies[0]
    start = read_date(options.start, "--from") if options.start else date.today()
    where, done = zone(options.zone), read_done(options.done or [])
    found = visits_of(scenario, policy, start, done, timedelta(days=options.together))
    folder = store.prepare(options.out)
    from sim.report.html import visit_sheets  # noqa: PLC0415  pages lie to the right

    contents = {
        "visits.ics": calendar(scenario, policy.name, found, where, datetime.now(UTC)),
        "sheets.html": visit_sheets.build(scenario, policy, found, options.units).encode(),
        "visits.csv": store.csv_bytes(frame(scenario, found)),
    }
    names = [file.name for file in store.write_all(folder, contents)]
    print(summary(scenario, policy, found, start))
    for visit in found:
        if not visit.only_readings:
            print(f"  {visit.on:%a} {visit.on}  {visit.who}: {', '.join(job.label for job in visit.jobs)}")
    print("Makers' manuals, local codes and licensed practice come before these sheets.")
    print(f"Written to {folder}: {', '.join(names)}")
    return 0


def frame(scenario: Scenario, found: tuple[Visit, ...]) -> pd.DataFrame:
    """Return visits as a table."""
    rows = [
        {
            "sheet": number,
            "date": visit.on,
            "who": visit.who,
            "tasks": "; ".join(job.label for job in visit.jobs),
            "minutes": minutes(scenario, visit),
            "parts": "; ".join(f"{part.count} x {part.name}" for part in parts(scenario, visit)),
        }
        for number, visit in numbered(found)
    ]
    return pd.DataFrame(rows, columns=["sheet", "date", "who", "tasks", "minutes", "parts"])
