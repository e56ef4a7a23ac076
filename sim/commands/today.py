"""`today`: how a house stands by its diary, what to do by when, and how good earlier forecasts were."""

import argparse
import json
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

from sim.commands.inputs import site_of
from sim.commands.screen import Bar
from sim.diary import archive
from sim.diary.book import Diary
from sim.diary.described import FORECASTS
from sim.diary.home import diary_in, home_of, invented, last_day, path_folder, there
from sim.errors import InputError
from sim.scenario.scenario import Scenario
from sim.study.caution import CAUTION
from sim.study.check_first.question import CheckFirstQuestion
from sim.study.check_first.words import check_lines
from sim.study.dates import spelled
from sim.study.questions import ask
from sim.study.runs.means import Means
from sim.study.taken import lines
from sim.study.today.question import Away, TodayAnswer, TodayQuestion
from sim.study.today.words import RANGES, unused_line
from sim.study.visits.visits import read_date
from sim.study.wording import counted

INVENTED = "The diary of this built-in site is invented."


def today(options: argparse.Namespace) -> int:
    """Say how a house stands."""
    site = site_of(options)
    folder, diary, on, made_up = _diary(options, site.scenario)
    if options.sign is not None:
        return _check_first(options, CheckFirstQuestion(site=site, diary=diary, today=on, sign=options.sign))
    question = TodayQuestion(
        site=site, diary=diary, today=on, away=tuple(map(_away, options.away or [])),
        earlier=archive.read(folder), units=options.units,
    )  # fmt: skip
    bar = Bar("paths of this house")
    with bar:
        answer = ask(question, Means(options.workers, path_folder(), tell=bar.tell))
    kept = 0 if made_up or not diary.begun else archive.keep(folder, answer.forecasts)
    if options.json:
        print(json.dumps(plain(answer) | {"took": site.took}, indent=1))
        return 0
    print(CAUTION)
    print("\n".join(told(answer, made_up)))
    if kept:
        print(f"{counted(kept, 'forecast')} kept in {folder / FORECASTS}, to be scored when it comes.")
    print("\n".join([*lines(site.took), f"Took diary {folder}: {_counts(diary)}."]))
    return 0


def _counts(diary: Diary) -> str:
    """Return what a diary holds, with its span."""
    days = sorted([one.at.date() for one in diary.readings] + [one.at.date() for one in diary.acts])
    span = f", {days[0]} to {days[-1]}" if days else ""
    return f"{counted(len(diary.readings), 'reading')} and {counted(len(diary.acts), 'act')}{span}"


def _check_first(options: argparse.Namespace, question: CheckFirstQuestion) -> int:
    """Say what to check first; its caution comes before any step."""
    bar = Bar("paths of this house")
    with bar:
        answer = ask(question, Means(options.workers, path_folder(), tell=bar.tell))
    if options.json:
        print(json.dumps({"kind": answer.kind, **_json(asdict(answer))}, indent=1))
        return 0
    print("\n".join(check_lines(answer, question.site.scenario.prices.currency)))
    return 0


def told(answer: TodayAnswer, made_up: bool) -> list[str]:
    """Return an answer as lines of the screen."""
    found = [*answer.alerts, *([INVENTED] if made_up else [])]
    found += [answer.sentence, *(f"  {line}" for line in answer.lines), RANGES, answer.waiting_words]
    if answer.visit is not None:
        buy = f"; buy {', '.join(answer.visit.buy)}" if answer.visit.buy else ""
        tasks = ", ".join(answer.visit.tasks)
        found.append(
            f"Next visit {spelled(answer.visit.on)}: {tasks} ({answer.visit.minutes:.0f} minutes{buy})."
        )
    found += _listed("Does not fit", answer.unfit)
    found += _listed("Asked", answer.asked)
    found += _listed("Would help most", answer.wish_words[:2])
    found += answer.away
    if answer.unused:
        found.append(unused_line(answer.unused))
    return [*found, answer.score_words]


def _listed(heading: str, lines: Sequence[str]) -> list[str]:
    return [f"{heading}:", *(f"  {line}" for line in lines)] if lines else []


def _diary(options: argparse.Namespace, scenario: Scenario) -> tuple[Path, Diary, date, bool]:
    """Return folder, diary, the day that is asked about, and whether the diary is invented."""
    folder = home_of(options.site, options.diary)
    on = read_date(options.on, "--on") if options.on else date.today()
    shipped = invented(options.site) if options.diary is None and not there(folder) else None
    if shipped is None:
        return folder, diary_in(folder, scenario, max(on, date.today())), on, False
    diary = diary_in(shipped, scenario, date.today())
    return shipped, diary, on if options.on else last_day(diary), True


def _away(words: str) -> Away:
    first, separator, last = words.partition(" to ")
    if not separator:
        raise InputError(f'--away is {words!r}; wanted two dates, such as "2027-03-03 to 2027-04-14"')
    return Away(read_date(first.strip(), "--away"), read_date(last.strip(), "--away"))


def plain(answer: TodayAnswer) -> dict[str, Any]:
    """Return an answer as JSON has it; members of forecasts stay in their file."""
    found = asdict(answer)
    found.pop("forecasts")
    found.pop("scored")
    return {"kind": answer.kind, "caution": CAUTION, **_json(found)}


def _json(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _json(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_json(item) for item in value]
    if isinstance(value, float) and value != value:  # noqa: PLR0124  JSON has no nan
        return None
    return value.isoformat() if isinstance(value, date) else value
