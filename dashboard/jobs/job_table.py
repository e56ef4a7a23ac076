"""Questions under way and answered: a bounded table that every visitor shares; the server never computes.

Each question runs in a process of its own (`dashboard.jobs.worker`), at most a few at once. What is kept is
named by content, so that the same question asked again is answered from the table, or from disk.
"""

import hashlib
import json
import sys
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from dashboard.jobs import worker
from dashboard.jobs.answer_store import AnswerStore, default_folder, edition
from dashboard.jobs.ready import READY, Worker
from sim.errors import InputError
from sim.study.question import Question
from sim.study.questions import answer_files, content_of, question_files, read_answer
from sim.units import Units

MOST_KEPT = 16  # in memory; a study is some hundred kB, a report some MB, and most are on disk too
MOST_RUNNING = 2
MOST_A_VISITOR = MOST_RUNNING + 6  # under way and waiting, of one browser
MOST_IN_ALL = 30
LOOK_S = 0.05  # between two looks at what a worker has written
MOST_ENDING_S = 15.0  # to finish what is under way when asked to stop


@dataclass(frozen=True)
class ReportOf:
    """The report of an answer in "us" or "si" units; made beside the server, as it runs histories anew."""

    question: Question[Any]
    answer: Any
    units: Units


Asked = Question[Any] | ReportOf


def key_of(asked: Asked) -> str:
    """Return the name of what is asked by its content."""
    if isinstance(asked, ReportOf):
        content = [content_of(asked.question), asked.units, asked.answer.finished]
    else:
        content = [content_of(asked)]
    return hashlib.sha256(json.dumps([edition(), *content]).encode()).hexdigest()


@dataclass
class Job:
    """One question on its way."""

    visitor: str = ""  # who asked first
    state: str = "waiting"  # "waiting", "running", "done", "cancelled" or "failed"
    done: int = 0  # replications
    wanted: int = 0
    partial: Any = None  # a rougher answer while it is under way
    handed_on: int = 0  # how many of these there were
    result: Any = None  # what the worker handed back
    said: str = ""  # why it failed, one line
    began_s: float = field(default_factory=time.monotonic)
    took_s: float = 0.0
    worker: Worker | None = None  # while it is at work
    stop: threading.Event = field(default_factory=threading.Event)

    @property
    def answer(self) -> Any:
        """The answer as far as it has come, None before the first."""
        return self.result or self.partial

    @property
    def active(self) -> bool:
        """Whether it is still to come to an end."""
        return self.state in {"waiting", "running"}

    @property
    def left_s(self) -> float | None:
        """Time left by what was done so far [s], None before the first replications."""
        if not self.done or not self.wanted:
            return None
        return (time.monotonic() - self.began_s) * (self.wanted - self.done) / self.done


class JobTable:
    """Jobs by key; may be called from any thread."""

    def __init__(self, store: AnswerStore | None = None) -> None:
        """Begin with no job and a store on disk, that of the user when none is given."""
        self._store = store or AnswerStore(default_folder())
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = threading.Lock()
        self._places = threading.Semaphore(MOST_RUNNING)

    def get(self, key: str) -> Job | None:
        """Return a job, from disk when it was answered before; None when it was not, or was let go."""
        with self._lock:
            if key in self._jobs:
                self._jobs.move_to_end(key)
                return self._jobs[key]
        found = self._store.read(key)
        if found is None:
            return None
        job = Job(state="done", result=found[0], took_s=found[1])
        with self._lock:
            job = self._jobs.setdefault(key, job)
            self._bound()
        return job

    def start(self, asked: Asked, visitor: str = "") -> str:
        """Ask a question, or for a report, unless it is under way or answered; return its key.

        Raises
        ------
        InputError
            When the visitor, or all of them, have asked as much as can wait.
        """
        key = key_of(asked)
        self.get(key)
        with self._lock:
            known = self._jobs.get(key)
            if known is not None and (known.active or known.state == "done"):
                return key
            self._check_room(visitor)
            job = Job(visitor)
            self._jobs[key] = job
            self._jobs.move_to_end(key)
            self._bound()
        threading.Thread(target=self._run, args=(key, job, asked), daemon=True).start()
        return key

    def _check_room(self, visitor: str) -> None:
        active = [job for job in self._jobs.values() if job.active]
        if len(active) >= MOST_IN_ALL:
            raise InputError(
                f"{MOST_IN_ALL} questions are under way or waiting here, by all who ask; "
                "try again when some are answered"
            )
        if sum(job.visitor == visitor for job in active) >= MOST_A_VISITOR:
            raise InputError(
                f"{MOST_A_VISITOR} of your questions are under way or waiting, {MOST_RUNNING} at a time; "
                "wait until one is answered, or stop one"
            )

    def _bound(self) -> None:
        settled = [name for name, item in self._jobs.items() if not item.active]
        for name in settled[: max(0, len(self._jobs) - MOST_KEPT)]:
            del self._jobs[name]

    def cancel(self, key: str) -> None:
        """Stop a job; a study keeps the replications it finished."""
        job = self.get(key)
        if job is not None and job.active:
            job.stop.set()

    def _run(self, key: str, job: Job, asked: Asked) -> None:
        with self._places:
            if job.stop.is_set():
                job.state = "cancelled"
                return
            job.state, job.began_s = "running", time.monotonic()
            try:
                with READY.worker() as one:
                    state = _attend(job, asked, one)
                if state == "done":
                    self._store.keep(key, job.result, job.took_s)
                job.state = state
            except Exception as error:
                job.said, job.state = f"{type(error).__name__} in the dashboard", "failed"
            finally:
                job.worker = job.partial = None


def _attend(job: Job, asked: Asked, one: Worker) -> str:
    """Ask a worker, follow its progress, take its answer; return the state it leaves the job in."""
    folder = one.folder
    _hand_over(asked, folder)
    job.worker = one
    one.go()
    code = _follow(job, one)
    job.took_s = time.monotonic() - job.began_s
    if (folder / worker.ANSWER).exists():
        job.result = read_answer(folder / worker.ANSWER)
    elif (folder / worker.REPORT).exists():
        job.result = (folder / worker.REPORT).read_bytes()
    if job.stop.is_set():
        job.result = job.answer  # it was ended before it wrote its answer
        return "cancelled"
    if code == 0:
        return "done"
    told = folder / worker.REFUSED
    job.said = told.read_text() if told.exists() else "the worker stopped; see the log of the server"
    print((folder / worker.LOG).read_text(errors="replace"), file=sys.stderr)
    return "failed"


def _hand_over(asked: Asked, folder: Path) -> None:
    """Write what is asked into the folder of a worker."""
    question = asked.question if isinstance(asked, ReportOf) else asked
    for name, content in question_files(question, {}).items():
        (folder / name).write_bytes(content)
    if isinstance(asked, ReportOf):
        (folder / worker.UNITS).write_text(json.dumps(asked.units))
        worker.write_folder(folder / worker.REPORT_OF, answer_files(asked.answer, {}))


def _follow(job: Job, one: Worker) -> int:
    asked_at, folder = None, one.folder
    while (code := one.wait(LOOK_S)) is None:
        if (folder / worker.PROGRESS).exists():
            job.done, job.wanted = json.loads((folder / worker.PROGRESS).read_bytes())
        while (partial := folder / worker.PARTIAL.format(job.handed_on + 1)).exists():
            job.partial = read_answer(partial)
            job.handed_on += 1
        if job.stop.is_set() and asked_at is None:
            asked_at = time.monotonic()
            one.interrupt()  # what is under way is finished and kept
        elif asked_at is not None and time.monotonic() - asked_at > MOST_ENDING_S:
            one.kill()
    return code
