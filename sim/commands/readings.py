"""`readings`: the diary of a house, to which readings and acts are added; none leaves the machine."""

import argparse
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from sim.commands.inputs import site_of
from sim.commands.readings_taken import taken_as
from sim.diary.book import Added, Book, Cells
from sim.diary.described import ACTS, READINGS
from sim.diary.doubt import doubts
from sim.diary.entries import act_of, reading_of, said
from sim.diary.home import home_of
from sim.diary.properties import FINDING_WORDS, SWITCH_WORDS, labels
from sim.diary.read.files import rows_of
from sim.diary.read.tables import Rows
from sim.errors import InputError
from sim.scenario.read.refusal import one_line
from sim.scenario.scenario import Scenario
from sim.study.taken import lines
from sim.study.wording import counted

READING, ACT = "reading", "act"
_MOST_SHOWN = 5


def readings(options: argparse.Namespace) -> int:
    """Add to the diary of a site, or list what stands in it."""
    site = site_of(options)
    code = _done(options, site.scenario)
    print("\n".join(lines(site.took)))
    return code


def _done(options: argparse.Namespace, scenario: Scenario) -> int:
    today = date.today()
    book = Book(home_of(options.site, options.diary), scenario, today)
    if options.action == "list":
        return _list(book)
    if options.source is not None:
        if options.words:
            raise InputError(f"--from: does not go with {' '.join(options.words)!r}; wanted one of the two")
        return _add_file(book, options)
    cells = _cells(options, scenario)
    if options.action == "done":
        found = book.add_acts([cells], datetime.now())
        return _said(book, found, ACT)
    found = book.add_readings([cells], datetime.now())
    _tell([cells], book)
    return _said(book, found, READING)


def _list(book: Book) -> int:
    for name in (READINGS, ACTS):
        for line in book.lines(name):
            cells = line.cells
            words = [cells.get(key, "") for key in ("phenomenon_time", "date")]
            words += [cells.get(key, "") for key in ("observed_property", "result", "unit", "task", "stage")]
            told = " ".join(word for word in words if word)
            old = f"  replaces {cells['replaces']}" if cells["replaces"] else ""
            print(one_line(f"{cells['mark']}  {told}{old}"))
    return 0


def _add_file(book: Book, options: argparse.Namespace) -> int:
    path: Path = options.source
    rows = rows_of(path, book.scenario, options.observed or "", options.unit or "")
    _check(rows.readings, book, READING)
    _check(rows.acts, book, ACT)
    read = f"{counted(len(rows.readings), READING)} and {counted(len(rows.acts), ACT)}"
    print(one_line(f"Took file {path.name}: {read}{_span(rows)}."))
    _tell([cells for _, cells in rows.readings], book)
    now = datetime.now()
    if rows.readings:
        _said(book, book.add_readings([cells for _, cells in rows.readings], now), READING)
    if rows.acts:
        _said(book, book.add_acts([cells for _, cells in rows.acts], now), ACT)
    if not rows.readings and not rows.acts:
        print(f"{path.name}: nothing was read in it.")
    return 0


def _tell(rows: Sequence[Cells], book: Book) -> None:
    for line in taken_as(rows, book.scenario, book.today):
        print(one_line(line))


def _span(rows: Rows) -> str:
    """Return the first and the last time in a file, as written."""
    written = [cells["phenomenon_time"] for _, cells in rows.readings] + [
        cells["date"] for _, cells in rows.acts
    ]
    return f", {min(written)} to {max(written)}" if written else ""


def _check(rows: Sequence[tuple[str, Cells]], book: Book, what: str) -> None:
    """Refuse a row that cannot be read, with its place, before any is added."""
    for place, cells in rows:
        try:
            if what == READING:
                reading_of(cells, book.scenario, book.today)
            else:
                act_of(cells, book.scenario, book.today)
        except InputError as error:
            raise said(error, place) from None


def _cells(options: argparse.Namespace, scenario: Scenario) -> dict[str, str]:
    """Return what was typed as the cells of a line."""
    shared = {"note": options.note or "", "replaces": options.replaces or ""}
    when = options.at or datetime.now().isoformat(timespec="minutes")
    if options.action == "done":
        task, _, stage = " ".join(options.words).partition(":")
        if not task and not options.replaces:
            raise InputError('done: wanted a task, such as "wipe sleeve" or "change cartridge: carbon"')
        who = options.who or ""
        return {"date": when, "task": task.strip(), "stage": stage.strip(), "who": who, **shared}
    what, result, unit = split(options.words)
    if not what and not options.replaces:
        known = ", ".join(labels(scenario))
        raise InputError(f"add: wanted what was read and its value, such as UV 71 %; known are {known}")
    return {
        "phenomenon_time": when,
        "observed_property": what,
        "result": result,
        "unit": options.unit or unit,
        "procedure": options.how or "",
        "result_quality": "sure" if options.sure else "",
        **shared,
    }


def split(words: Sequence[str]) -> tuple[str, str, str]:
    """Return what was read, its value and its unit from words as typed.

    Examples
    --------
    >>> split(["drop", "over", "sediment", "9", "psi"]), split(["UV 71%"])
    (('drop over sediment', '9', 'psi'), ('UV', '71', '%'))
    >>> split(["seconds to fill 10 L at the kitchen tap", "34"]), split(["UV alarm", "on"])
    (('seconds to fill 10 L at the kitchen tap', '34', ''), ('UV alarm', 'on', ''))
    """
    tokens = " ".join(words).replace("%", " %").split()
    said_words = SWITCH_WORDS | FINDING_WORDS
    for place in range(len(tokens) - 1, 0, -1):
        token = tokens[place]
        if _is_number(token) or token.casefold() in said_words:
            return " ".join(tokens[:place]), token, " ".join(tokens[place + 1 :])
    return " ".join(tokens), "", ""


def _is_number(token: str) -> bool:
    try:
        float(token.replace(",", "."))
    except ValueError:
        return False
    return True


def _said(book: Book, found: Added, what: str) -> int:
    """Say what was added, and ask about what looks odd; it is kept either way."""
    known = f"; {found.known} stood there already" if found.known else ""
    print(f"Added {counted(len(found.marks), what)}{known}. The diary is in {book.folder}.")
    if len(found.marks) == 1:
        print(f"Its mark is {found.marks[0]}: a correction is a new line with --replaces {found.marks[0]}.")
    if what == READING:
        _ask(book, found)
    return 0


def _ask(book: Book, found: Added) -> None:
    fresh = {
        reading_of(line.cells, book.scenario, book.today): line.cells["mark"]
        for line in book.lines(READINGS)
        if line.cells["mark"] in set(found.marks) and line.cells["result"]
    }
    asked = [one for one in doubts(book.read().readings, book.scenario) if one.reading in fresh]
    for one in asked[:_MOST_SHOWN]:
        mark = fresh[one.reading]
        print(f"? {one.reading.at:%Y-%m-%d}: {one.question}")
        print(f"  Kept as it is. To mend it: --replaces {mark}; if it is right, the same with --sure.")
    if len(asked) > _MOST_SHOWN:
        print(f"? and {counted(len(asked) - _MOST_SHOWN, 'more question')}.")
