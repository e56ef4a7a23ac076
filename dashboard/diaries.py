"""The diary of the house that was chosen: where it is kept, and what a visitor adds to it.

Diaries lie in the folder the dashboard was started from, as on the command line.
"""

import os
import re
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from dashboard.site import Site
from sim.diary.book import Book, Cells, Diary
from sim.diary.doubt import doubts
from sim.diary.entries import reading_of
from sim.diary.home import diary_in, home_of, invented, last_day, there
from sim.diary.paths import COUNT
from sim.diary.properties import labels, property_of
from sim.disk import DIARIES
from sim.units import Units

_OTHER = re.compile(r"[^A-Za-z0-9_-]+")  # what a folder is not called after a file somebody sent
PATHS = "CISTERNTWIN_PATHS"  # names how many sampled years an answer stands on: fewer are sooner and rougher
PRESSURES: dict[Units, str] = {"us": "psi", "si": "kPa"}


@dataclass(frozen=True)
class Kept:
    """A diary, the folder of it, and the day it is asked about."""

    folder: Path
    diary: Diary
    today: date
    made_up: bool  # invented, and comes with the built-in site


@dataclass(frozen=True)
class Asked:
    """A question about a reading that was just added, and its mark."""

    mark: str
    question: str
    cells: Cells


def folder_of(site: Site) -> Path:
    """Return the folder of a site's diary."""
    name = site.key if not site.uploaded else f"{_OTHER.sub('_', site.label).strip('_') or 'house'}.toml"
    return Path(os.environ.get(DIARIES, ".")) / home_of(name)


def kept(site: Site) -> Kept:
    """Return the diary of a site; a built-in one without its own has one that is invented.

    Raises
    ------
    InputError
        One line, when it cannot be read.
    """
    folder, today = folder_of(site), date.today()
    made_up = None if site.uploaded or there(folder) else invented(site.key)
    if made_up is None:
        return Kept(folder, diary_in(folder, site.scenario, today), today, False)
    found = diary_in(made_up, site.scenario, today)
    return Kept(folder, found, last_day(found), True)


def paths_count() -> int:
    """Return along how many sampled years a house is followed."""
    return int(os.environ.get(PATHS, COUNT))


def unit_of(site: Site, words: str, units: Units) -> str:
    """Return the unit in which something is read where none is typed."""
    found = property_of(words, site.scenario)[0]
    return PRESSURES[units] if found.kind == "pressure" else found.unit


def readable(site: Site) -> list[str]:
    """Return what can be read at a site, the two that tell most first."""
    found = list(labels(site.scenario))
    drops = [f"drop over {stage.name}" for stage in site.scenario.stages]
    return ["UV", *drops, *(one for one in found if one not in {"UV", *drops})]


def cells_of(site: Site, words: str, typed: str, on: date, units: Units) -> Cells:
    """Return a reading as its line has it, with its usual unit where none was typed."""
    number, unit = _split(typed)
    return {
        "phenomenon_time": _moment(on), "observed_property": words, "result": number,
        "unit": unit or unit_of(site, words, units),
    }  # fmt: skip


def add(site: Site, cells: Cells) -> Asked | None:
    """Add a reading; return a question where it looks odd.

    Raises
    ------
    InputError
        One line: what was read and what is wanted.
    """
    book = _book(site)
    added = book.add_readings([cells], datetime.now())
    if not added.marks:
        return None
    mine = reading_of(cells, site.scenario, book.today)
    for doubt in doubts(book.read().readings, site.scenario):
        if doubt.reading == mine:
            return Asked(added.marks[0], doubt.question, cells)
    return None


def settle(site: Site, asked: Asked, right: bool) -> None:
    """Take a question's answer: the reading is right, or it is taken back."""
    cells = {**asked.cells, "result_quality": "sure"} if right else {}
    _book(site).add_readings([{**cells, "replaces": asked.mark}], datetime.now())


def note(site: Site, label: str, on: date) -> None:
    """Note what was done."""
    task, _, stage = label.partition(": ")
    cells = {"date": on.isoformat(), "task": task, "stage": stage, "who": "owner"}
    _book(site).add_acts([cells], datetime.now())


def works(site: Site) -> list[str]:
    """Return what can be done at a site, by label."""
    found = []
    for task in site.scenario.tasks:
        stages = [stage.name for stage in site.scenario.stages]
        found += [f"{task.name}: {stage}" for stage in stages] if task.on_stage else [task.name]
    return found


def _book(site: Site) -> Book:
    return Book(folder_of(site), site.scenario, date.today())


def _moment(on: date) -> str:
    """Return the time of a reading: now, or the morning of another day."""
    return datetime.now().isoformat(timespec="minutes") if on == date.today() else on.isoformat()


def _split(typed: str) -> tuple[str, str]:
    """Return number and unit of what was typed.

    Examples
    --------
    >>> _split("71 %"), _split("9psi"), _split("on"), _split("6,5")
    (('71', '%'), ('9', 'psi'), ('on', ''), ('6,5', ''))
    """
    found = re.fullmatch(r"\s*([-+]?[\d.,]+)\s*(.*?)\s*", typed)
    return (found[1], found[2]) if found else (typed.strip(), "")
