"""What runs beside the server: `ask`, or the making of a report, through files of one folder.

`python -m dashboard.jobs.worker FOLDER` waits until its input tells it to go, reads the question there,
writes `progress.json` as it goes and a folder of the answer when it is done; an interrupt keeps what was
finished. Nothing that is read runs. It steps back behind the server when both want a core, and ends when the
server does, however that ends.
"""

import json
import os
import signal
import sys
import threading
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

from sim.diary.home import path_folder
from sim.errors import TwinError
from sim.study.questions import KINDS, answer_files, ask, read_answer, read_question
from sim.study.runs.means import Means

FOLLOWED = {"today", "check-first"}  # questions along sampled years of a house, which are kept
NICENESS = 5  # the pages come first, but on a busy machine an answer still comes
ANSWER, REPORT = "answer", "report.html"
REPORT_OF, UNITS = "report-of", "units.json"  # an answer whose report is wanted, and its units
GO, AHEAD = b"go\n", "ahead"
LOG = "log"
PARTIAL, PROGRESS, REFUSED = "partial-{}", "progress.json", "refused.txt"


def main(folder: Path) -> int:
    """Answer the question of a folder."""
    question, handed_on = read_question(folder), 0

    def tell(finished: int, wanted: int, what: str) -> None:
        del what
        _write(folder / PROGRESS, json.dumps([finished, wanted]).encode())

    def hand_on(answer: Any) -> None:
        nonlocal handed_on
        handed_on += 1
        write_folder(folder / PARTIAL.format(handed_on), answer_files(answer, {}))

    try:
        if (folder / REPORT_OF).exists():
            from sim.report.reports import report  # noqa: PLC0415  an answer needs none of it

            units = json.loads((folder / UNITS).read_bytes())
            _write(folder / REPORT, report(question, read_answer(folder / REPORT_OF), units))
        else:
            kept = path_folder() if question.kind in FOLLOWED else None
            answer = ask(question, Means(os.cpu_count() or 1, kept, tell=tell, on_partial=hand_on))
            write_folder(folder / ANSWER, answer_files(answer, {}))
    except TwinError as error:
        _write(folder / REFUSED, str(error).encode())
        return 2
    return 0


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files under a temporary name first: someone may look at any moment."""
    waiting = folder.with_name(f"{folder.name}.part")
    waiting.mkdir()
    for name, content in files.items():
        (waiting / name).write_bytes(content)
    os.rename(waiting, folder)


def _write(file: Path, content: bytes) -> None:
    waiting = file.with_name(f"{file.name}.part")
    waiting.write_bytes(content)
    os.replace(waiting, file)


def _listen(told: threading.Event) -> None:
    """Wait to be told to go, then for the pipe from the server to close, as it does when the server ends."""
    if os.read(0, len(GO)) != GO:
        os._exit(0)  # the server ended before there was a question
    told.set()
    os.read(0, 1)
    os.killpg(0, signal.SIGKILL)  # the group is this worker's own, with the processes it started


def load_ahead() -> None:
    """Load what most questions need, compiled code included: a policy of the demo through a year."""
    from sim.scenario.read.load import DEMO, load  # noqa: PLC0415  a worker that has its question loads less
    from sim.study.runs.batch import Job, Unit, run_batch  # noqa: PLC0415

    import_module(KINDS["compare"][0])
    demo = load(DEMO)
    run_batch(Job(((demo, demo.policies[:1], 0),), 1, None, None), (Unit(0, (0,), 0),))


if __name__ == "__main__":
    os.nice(NICENESS)
    asked = threading.Event()
    threading.Thread(target=_listen, args=(asked,), daemon=True).start()
    if AHEAD in sys.argv[2:]:
        load_ahead()
    asked.wait()
    sys.exit(main(Path(sys.argv[1])))
