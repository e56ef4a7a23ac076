"""Visits as an iCalendar file (RFC 5545): an event each, with alarms for the parts and for the day before."""

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo, available_timezones

from icalendar import Alarm, Calendar, Event, Timezone

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.study.caution import AT_WORK
from sim.study.visits.service_sheet import minutes, numbered, parts
from sim.study.visits.visits import TECHNICIAN, Visit

HOURS = {"owner": time(10), "technician": time(9)}  # as in the twin
BEFORE = timedelta(days=1)
SLACK = timedelta(days=3)  # parts are ordered so much earlier than they must be [A]


def zone(name: str | None) -> ZoneInfo | None:
    """Return a time zone by its name in the IANA data base; refused when there is none of that name.

    Parameters
    ----------
    name : str or None
        Such as "Europe/Vienna"; None for the local time of whoever reads the calendar.
    """
    if name is None:
        return None
    known = available_timezones()
    if name not in known:
        close = nearest(name, sorted(known)).split("?")[0]
        hint = f"{close}? " if close.startswith("did you mean") else ""
        raise InputError(f"--zone is {name!r}; {hint}wanted a name such as Europe/Vienna or UTC")
    return ZoneInfo(name)


def calendar(
    scenario: Scenario, policy: str, found: Sequence[Visit], where: ZoneInfo | None, now: datetime
) -> bytes:
    """Return visits as an iCalendar file."""
    whole = Calendar()
    whole.add("prodid", "-//cisterntwin//service calendar//EN")
    whole.add("version", "2.0")
    whole.add("calscale", "GREGORIAN")
    if where is not None and found:
        first, last = found[0].on, found[-1].on
        whole.add_component(
            Timezone.from_tzinfo(
                where, first_date=first - timedelta(days=366), last_date=last + timedelta(days=366)
            )
        )
    for number, visit in numbered(found):
        whole.add_component(_event(scenario, policy, number, visit, where, now))
    return bytes(whole.to_ical())


def _event(
    scenario: Scenario, policy: str, number: int, visit: Visit, where: ZoneInfo | None, now: datetime
) -> Event:
    begin = datetime.combine(visit.on, HOURS[visit.who], tzinfo=where)
    labels = ", ".join(job.label for job in visit.jobs)
    event = Event()
    key = "\n".join([scenario.name, policy, visit.who, f"{visit.on}"])
    event.add("uid", f"{hashlib.sha256(key.encode()).hexdigest()[:32]}@cisterntwin")
    event.add("dtstamp", now.astimezone(UTC))
    event.add("dtstart", begin)
    event.add("duration", timedelta(minutes=max(1, round(minutes(scenario, visit)))))
    event.add("summary", f"{scenario.name}: {labels}")
    event.add("description", _description(scenario, policy, number, visit))
    event.add("categories", [visit.who])
    event.add_component(_alarm(-BEFORE, f"Tomorrow: {labels}"))
    bring = parts(scenario, visit)
    if bring:
        lead = timedelta(seconds=max(part.lead_s for part in bring)) + SLACK
        names = ", ".join(f"{part.count} x {part.name}" for part in bring)
        event.add_component(_alarm(-(lead + BEFORE), f"Are the parts there? {names}"))
    return event


def _alarm(trigger: timedelta, words: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", trigger)
    alarm.add("description", words)
    return alarm


def _description(scenario: Scenario, policy: str, number: int, visit: Visit) -> str:
    sheet = f"Sheet {number}" if number else "Sheet for rounds of readings"
    lines = [f"{sheet}. Policy: {policy}. By the {visit.who}."]
    lines += [f"- {job.label}" for job in visit.jobs]
    lines += [f"Bring: {part.count} x {part.name}" for part in parts(scenario, visit)]
    if visit.who == TECHNICIAN:
        lines.append("Call the technician in time.")
    cautions = [
        found.caution for job in visit.jobs if (found := scenario.procedure(job.task)) and found.caution
    ]
    return "\n".join([*lines, *dict.fromkeys(cautions), AT_WORK])
