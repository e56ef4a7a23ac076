"""The calendar read back by two parsers that did not write it, and the sheets by eye of a parser of HTML."""

import html
import io
import re
import warnings
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import ical.calendar_stream
import pytest
import vobject

from sim.cli import main
from sim.scenario.procedure import CAUTIOUS, RETURN
from sim.scenario.read.load import built_in, load
from sim.study.stated_lives import plan_note
from sim.study.visits.icalendar_file import HOURS, calendar, zone
from sim.study.visits.service_sheet import doings, minutes, parts, split
from sim.study.visits.visits import visits

START = date(2027, 1, 1)
NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
CASES = [(site, policy.name) for site in built_in() for policy in load(site).policies]


def _made(site, name, where="Europe/Vienna", start=START):
    scenario = load(site)
    policy = next(one for one in scenario.policies if one.name == name)
    found = visits(scenario, policy, start)
    return scenario, found, calendar(scenario, name, found, zone(where), NOW).decode()


def _when(on, who, where="Europe/Vienna"):
    return datetime.combine(on, HOURS[who], tzinfo=ZoneInfo(where))


@pytest.mark.parametrize(("site", "name"), CASES)
def test_a_parser_of_its_own_reads_dates_zone_and_alarms(site, name):
    scenario, found, text = _made(site, name)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        read = ical.calendar_stream.IcsCalendarStream.calendar_from_ics(text)
    events = sorted(read.events, key=lambda event: event.dtstart.timestamp())
    assert len(events) == len(found)
    assert len({event.uid for event in events}) == len(found)
    for event, visit in zip(events, found, strict=True):
        assert event.dtstart == _when(visit.on, visit.who)
        assert event.dtstart.utcoffset() == _when(visit.on, visit.who).utcoffset()
        assert event.duration == timedelta(minutes=max(1, round(minutes(scenario, visit))))
        assert all(job.label in event.summary for job in visit.jobs)
        triggers = sorted(alarm.trigger for alarm in event.alarm)
        lead = [part.lead_s for part in parts(scenario, visit)]
        assert triggers[-1] == -timedelta(days=1)
        assert len(triggers) == 1 + bool(lead)
        if lead:
            assert -triggers[0] > timedelta(seconds=max(lead))


@pytest.mark.parametrize(("site", "name"), CASES)
def test_another_parser_reads_the_same(site, name):
    _, found, text = _made(site, name)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        read = vobject.readOne(io.StringIO(text), validate=bool(found))
    events = sorted(getattr(read, "vevent_list", []), key=lambda event: event.dtstart.value.timestamp())
    assert [event.dtstart.value for event in events] == [_when(visit.on, visit.who) for visit in found]
    assert all(event.behavior.validate(event, raiseException=True) for event in events)


def test_hours_follow_the_clock_across_the_change_of_summer_time():
    _, found, text = _made("family_house", "by the calendar")
    read = ical.calendar_stream.IcsCalendarStream.calendar_from_ics(text)
    offsets = {event.dtstart.utcoffset() for event in read.events}
    assert offsets == {timedelta(hours=1), timedelta(hours=2)}
    assert {event.dtstart.hour for event in read.events} == {10}
    assert found


def test_without_a_zone_the_hours_are_local_to_the_reader():
    _, found, text = _made("family_house", "by the calendar", where=None)
    assert "TZID" not in text
    assert re.findall(r"DTSTART:(\d{8}T\d{6})\r\n", text) == [f"{visit.on:%Y%m%d}T100000" for visit in found]


def test_lines_are_folded_and_ended_as_the_standard_asks():
    # RFC 5545, 3.1: lines end in CRLF and should not be longer than 75 octets.
    _, _, text = _made("family_house", "by the calendar")
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75


def _command(tmp_path, *words):
    code = main(["visits", "--from", "2027-01-01", "--out", str(tmp_path), *words])
    page = tmp_path / "sheets.html"
    return code, html.unescape(page.read_text(encoding="utf-8")) if page.exists() else ""


@pytest.mark.parametrize(("site", "name"), CASES)
def test_sheets_show_every_step_and_caution_of_every_visit(site, name, tmp_path, capsys):
    code, page = _command(tmp_path, site, "--policy", name)
    assert code == 0
    scenario = load(site)
    policy = next(one for one in scenario.policies if one.name == name)
    caution, *notes = capsys.readouterr().out.splitlines()
    assert "licensed practice come first" in caution
    summary = notes[1 if plan_note(policy, scenario) else 0]
    assert summary.startswith(("The year from 2027-01-01", f"{name!r} asks for no visit"))
    sections = re.split(r"<section>", page)[1:]
    found = [visit for visit in visits(scenario, policy, START) if not visit.only_readings]
    worked = [part for visit in found for part in split(scenario, visit)]
    assert len([section for section in sections if "<h2>Sheet " in section]) == len(worked)
    for visit, section in zip(worked, sections, strict=False):
        for doing in doings(scenario, visit):
            assert doing.step.text in section
            if doing.step.caution:  # framed, and straight before its step
                framed = f'<li class="warn">Caution: {doing.step.caution}</li>'
                assert re.search(
                    re.escape(framed) + r"\s*<li><span[^>]*></span> " + re.escape(doing.step.text), section
                )
            if any(CAUTIOUS.get(device) == at for device, at in doing.step.operates.items()):
                assert doing.step.caution
        for job in visit.jobs:
            assert (getattr(scenario.procedure(job.task), "caution", "") or "") in section
        assert all(part.name in section for part in parts(scenario, visit))
        assert "not a water test" in section
    assert scenario.procedure(RETURN).caution in sections[-1]


def test_every_task_prints_whether_or_not_a_policy_asks_for_it(tmp_path, capsys):
    _command(tmp_path, "cottage")
    capsys.readouterr()
    text = html.unescape((tmp_path / "tasks.html").read_text("utf-8"))
    scenario = load("cottage")
    for task in (*scenario.tasks, *scenario.guides):
        for step in scenario.steps(task.name):
            assert step.text in text, (task.name, step.id)
    key = html.unescape((tmp_path / "key.html").read_text("utf-8"))
    at = key.index("Unit still lit: open the lowest cold tap in the house", key.index("<h2>change cartridge"))
    assert "housing: opened under pressure, housings at 3.50 bar" in key[at : key.index("</tr>", at)]
    assert key.index("do not try it") < at
    card = html.unescape((tmp_path / "card.html").read_text("utf-8"))
    assert card.index("STOP DRINKING") < card.index("rolling boil") < card.index("Broken glass")
    plan = html.unescape((tmp_path / "plan.html").read_text("utf-8"))
    policy = scenario.policies[0]
    bought = [part for visit in visits(scenario, policy, START) for part in parts(scenario, visit)]
    assert plan.count(" \u00d7 ") == len(bought)
    for page in (text, card, plan):
        assert "simulat" not in page.lower()


def test_boxes_for_readings_give_the_settings_in_the_units_asked_for(tmp_path, capsys):
    _, page = _command(tmp_path, "--units", "si")
    assert "set to 276 kPa" in page  # 40 psi is 275.79 kPa
    _, page = _command(tmp_path, "--units", "us")
    assert "set to 40.0 psi" in page
    capsys.readouterr()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--zone", "Europe/Wien"], "--zone is 'Europe/Wien'; "),
        (["--from", "2027-02-30"], "--from is '2027-02-30'"),
        (["--from", "9999-12-31"], "with a year after it"),
        (["--done", "wipe sleve=2026-12-01"], "did you mean 'wipe sleeve'"),
        (["--policy", "nothing"], "did you mean"),
        (["--together", "-1"], "wanted 0 to 366"),
    ],
)
def test_bad_words_are_refused_in_one_line(words, said, tmp_path, capsys):
    code = main(["visits", "--from", "2027-01-01", "--out", str(tmp_path / "out"), *words])
    shown = capsys.readouterr().err
    assert code == 2
    assert shown.count("\n") == 1
    assert said in shown
    assert not (tmp_path / "out").exists()
