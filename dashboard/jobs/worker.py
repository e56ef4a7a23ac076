"""What runs beside the server: `ask`, or the making of a report, through files of one folder.

The question is read there, `progress.json` is written as it goes and a folder of the answer when it is done;
an interrupt keeps what was finished. Nothing that is read runs. It steps back behind the server when both
want a core, and ends when the server does: see `dashboard.jobs.loaded`, which starts it.
"""

import json
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sim.diary.home import path_folder
from sim.errors import TwinError
from sim.study.questions import answer_files, ask, read_answer, read_question
from sim.study.runs.means import Means

FOLLOWED = {"today", "check-first"}  # questions along sampled years of a house, which are kept
ANSWER, REPORT = "answer", "report.html"
REPORT_OF, UNITS = "report-of", "units.json"  # an answer whose report is wanted, and its units
LOG, ENVIRONMENT = "log", "environment.json"
PARTIAL, PROGRESS, REFUSED = "partial-{}", "progress.json", "refused.txt"


def main(folder: Path) -> int:
    """Answer the question of a folder."""
    question, handed_on = read_question(folder), 0

    def tell(finished: int, wanted: int, what: str) -> None:
        del what
        write(folder / PROGRESS, json.dumps([finished, wanted]).encode())

    def hand_on(answer: Any) -> None:
        nonlocal handed_on
        handed_on += 1
        write_folder(folder / PARTIAL.format(handed_on), answer_files(answer, {}))

    try:
        if (folder / REPORT_OF).exists():
            from sim.report.reports import report  # noqa: PLC0415  an answer needs none of it

            units = json.loads((folder / UNITS).read_bytes())
            write(folder / REPORT, report(question, read_answer(folder / REPORT_OF), units))
        else:
            kept = path_folder() if question.kind in FOLLOWED else None
            answer = ask(question, Means(os.cpu_count() or 1, kept, tell=tell, on_partial=hand_on))
            write_folder(folder / ANSWER, answer_files(answer, {}))
    except TwinError as error:
        write(folder / REFUSED, str(error).encode())
        return 2
    return 0


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files under a temporary name first: someone may look at any moment."""
    waiting = folder.with_name(f"{folder.name}.part")
    waiting.mkdir()
    for name, content in files.items():
        (waiting / name).write_bytes(content)
    os.rename(waiting, folder)


def write(file: Path, content: bytes) -> None:
    """Write a file under a temporary name first."""
    waiting = file.with_name(f"{file.name}.part")
    waiting.write_bytes(content)
    os.replace(waiting, file)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
