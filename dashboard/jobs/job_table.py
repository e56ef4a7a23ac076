"""Questions under way and answered: a bounded table that every visitor shares; the server never computes.

Each question runs in a process of its own (`dashboard.jobs.worker`), at most a few at once. What is kept is
named by content, so that the same question asked again is answered from the table, or from disk.
"""

import atexit
import contextlib
import hashlib
import json
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from dashboard.jobs.answer_store import AnswerStore, default_folder, edition
from dashboard.jobs.worker import PROGRESS, QUESTION, RESULT, Question

MOST_KEPT = 16  # in memory; a study is some hundred kB, a report some MB, and most are on disk too
MOST_RUNNING = 2
ROOT = Path(__file__).parents[2]


def key_of(question: Question) -> str:
    """Return the name of a question by its content."""
    finished = None if question.rows is None else len(question.rows)
    content = [
        edition(), question.kind, question.digest, question.policies, question.years,
        question.replications, question.seed, question.units, finished, question.first_day,
        [skip.model_dump(mode="json") for skip in question.skips], question.told,
        question.asked,
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()


@dataclass
class Job:
    """One question on its way.

    Attributes
    ----------
    state : str
        "waiting", "running", "done", "cancelled" or "failed".
    done, wanted : int
        Replications.
    result : object
        What the worker handed back.
    said : str
        Why it failed, one line.
    """

    question: Question | None
    state: str = "waiting"
    done: int = 0
    wanted: int = 0
    result: Any = None
    said: str = ""
    began_s: float = field(default_factory=time.monotonic)
    took_s: float = 0.0
    process: subprocess.Popen[bytes] | None = None
    stop: threading.Event = field(default_factory=threading.Event)

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
        atexit.register(self.end_all)

    def get(self, key: str) -> Job | None:
        """Return a job, from disk when it was answered before; None when it was not, or was let go."""
        with self._lock:
            if key in self._jobs:
                self._jobs.move_to_end(key)
                return self._jobs[key]
        found = self._store.read(key)
        if found is None:
            return None
        job = Job(None, state="done", result=found[0], took_s=found[1])
        with self._lock:
            job = self._jobs.setdefault(key, job)
            self._bound()
        return job

    def start(self, question: Question) -> str:
        """Ask a question, unless it is under way or answered; return its key."""
        key = key_of(question)
        self.get(key)
        with self._lock:
            known = self._jobs.get(key)
            if known is not None and (known.active or known.state == "done"):
                return key
            job = Job(question, wanted=question.replications)
            self._jobs[key] = job
            self._jobs.move_to_end(key)
            self._bound()
        threading.Thread(target=self._run, args=(key, job, question), daemon=True).start()
        return key

    def _bound(self) -> None:
        settled = [name for name, item in self._jobs.items() if not item.active]
        for name in settled[: max(0, len(self._jobs) - MOST_KEPT)]:
            del self._jobs[name]

    def cancel(self, key: str) -> None:
        """Stop a job; a study keeps the replications it finished."""
        job = self.get(key)
        if job is not None and job.active:
            job.stop.set()

    def end_all(self) -> None:
        """End the workers, each with the processes it started; the server is going."""
        with self._lock:
            processes = [job.process for job in self._jobs.values() if job.process is not None]
        for process in processes:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGTERM)

    def _run(self, key: str, job: Job, question: Question) -> None:
        with self._places:
            if job.stop.is_set():
                job.state = "cancelled"
                return
            job.state, job.began_s = "running", time.monotonic()
            try:
                with tempfile.TemporaryDirectory(prefix="cisterntwin-") as folder:
                    state = _attend(job, question, Path(folder))
                if state == "done":
                    self._store.keep(key, job.result, job.took_s)
                job.state = state
            except Exception as error:
                job.said, job.state = f"{type(error).__name__} in the dashboard", "failed"
            finally:
                job.process = job.question = None  # its rows and rain are not needed any more


def _attend(job: Job, question: Question, folder: Path) -> str:
    """Start the worker, follow its progress, take its answer; return the state it leaves the job in."""
    (folder / QUESTION).write_bytes(pickle.dumps(question))
    paths = [str(ROOT), os.environ.get("PYTHONPATH", "")]
    with (folder / "log").open("wb") as log:
        job.process = subprocess.Popen(
            [sys.executable, "-m", "dashboard.jobs.worker", str(folder)],
            stdin=subprocess.PIPE, stdout=log, stderr=log, start_new_session=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
        )  # fmt: skip
        code = _follow(job, job.process, folder)
        job.process.communicate()  # closes the pipe by which a worker knows that the server is there
    job.took_s = time.monotonic() - job.began_s
    if (folder / RESULT).exists():
        job.result = pickle.loads((folder / RESULT).read_bytes())
    if job.stop.is_set():
        return "cancelled"
    if code == 0:
        return "done"
    told = folder / "refused.txt"
    job.said = told.read_text() if told.exists() else "the worker stopped; see the log of the server"
    print((folder / "log").read_text(errors="replace"), file=sys.stderr)
    return "failed"


def _follow(job: Job, process: subprocess.Popen[bytes], folder: Path) -> int:
    asked_at = None
    while True:
        try:
            return process.wait(0.2)
        except subprocess.TimeoutExpired:
            pass
        if (folder / PROGRESS).exists():
            job.done, job.wanted = json.loads((folder / PROGRESS).read_bytes())
        if job.stop.is_set() and asked_at is None:
            asked_at = time.monotonic()
            process.send_signal(signal.SIGINT)  # what is under way is finished and kept
        elif asked_at is not None and time.monotonic() - asked_at > 90.0:
            process.kill()
