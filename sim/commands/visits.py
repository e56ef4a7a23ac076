"""`visits`: the service calendar of the coming year and a sheet to print for each visit."""

import argparse
from datetime import UTC, date, datetime

from sim import disk
from sim.commands.inputs import policy_of, site_of, write
from sim.diary.book import Diary
from sim.diary.done import last_done
from sim.diary.home import diary_in, home_of, there
from sim.report.reports import report
from sim.study.caution import AT_WORK
from sim.study.questions import ask
from sim.study.runs import store
from sim.study.stated_lives import plan_note
from sim.study.visits.expected import read_clean
from sim.study.visits.icalendar_file import calendar, zone
from sim.study.visits.question import VisitsQuestion
from sim.study.visits.visits import read_date, read_done


def visits(options: argparse.Namespace) -> int:
    """Write the visits of a year as a calendar, as sheets and as a table."""
    site = site_of(options)
    policy = policy_of(options, site)
    start = read_date(options.start, "--from") if options.start else date.today()
    home = home_of(options.site, options.diary)
    noted = diary_in(home, site.scenario, max(start, date.today())) if there(home) else Diary((), ())
    question = VisitsQuestion(
        site=site, policy=policy, together_days=options.together, start=start,
        done=last_done(noted, site.policy(policy), start) | read_done(options.done or []),
        clean=read_clean(options.clean),
    )  # fmt: skip
    where, answer = zone(options.zone), ask(question)
    folder = disk.prepare(options.out)
    contents = {
        "visits.ics": calendar(site.scenario, question.policy, answer.visits, where, datetime.now(UTC)),
        "sheets.html": report(question, answer, options.units),
        "tasks.html": report(question, answer, options.units, "tasks"),
        "key.html": report(question, answer, options.units, "key"),
        "plan.html": report(question, answer, options.units, "plan"),
        "card.html": report(question, answer, options.units, "card"),
        "visits.csv": store.csv_bytes(answer.table),
        "manifest.json": store.json_bytes(question.manifest),
    }
    written = write(folder, contents, site)
    print(AT_WORK)
    if note := plan_note(site.policy(question.policy), site.scenario):
        print(note)
    print(answer.summary)
    for visit in answer.visits:
        if not visit.only_readings:
            print(f"  {visit.on:%a} {visit.on}  {visit.who}: {', '.join(job.label for job in visit.jobs)}")
    print(written)
    return 0
