"""Questions under way and answered: a bounded table that every visitor shares; the server never computes.

Each question runs in a process of its own (`dashboard.worker`), at most a few at once. What is kept is named
by content, so that the same question asked again is answered from the table.
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
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from dashboard.worker import PROGRESS, QUESTION, RESULT, Question
from sim import __version__

MOST_KEPT = 40  # answers; a study is some hundred kB, a report some MB
MOST_RUNNING = 2
ROOT = Path(__file__).parents[1]


def key_of(question: Question) -> str:
    """Return the name of a question by its content.

    Parameters
    ----------
    question : Question
        What is asked.

    Returns
    -------
    str
        The same for the same scenario, series, policies, length, runs, seed, kind, units and version.
    """
    finished = None if question.rows is None else len(question.rows)
    content = [
        __version__, question.kind, question.digest, question.policies, question.years,
        question.replications, question.seed, question.units, finished, question.first_day,
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

    question: Question
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

    def __init__(self) -> None:
        """Begin with no job; workers end with the server."""
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = threading.Lock()
        self._places = threading.Semaphore(MOST_RUNNING)
        atexit.register(self.end_all)

    def get(self, key: str) -> Job | None:
        """Return a job, None when it was never asked or was let go."""
        with self._lock:
            if key in self._jobs:
                self._jobs.move_to_end(key)
            return self._jobs.get(key)

    def start(self, question: Question) -> str:
        """Ask a question, unless it is under way or answered; return its key."""
        key = key_of(question)
        with self._lock:
            known = self._jobs.get(key)
            if known is not None and (known.active or known.state == "done"):
                return key
            job = Job(question, wanted=question.replications)
            self._jobs[key] = job
            self._jobs.move_to_end(key)
            settled = [name for name, item in self._jobs.items() if not item.active]
            for name in settled[: max(0, len(self._jobs) - MOST_KEPT)]:
                del self._jobs[name]
        threading.Thread(target=self._run, args=(job,), daemon=True).start()
        return key

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

    def _run(self, job: Job) -> None:
        with self._places:
            if job.stop.is_set():
                job.state = "cancelled"
                return
            job.state, job.began_s = "running", time.monotonic()
            try:
                with tempfile.TemporaryDirectory(prefix="cisterntwin-") as folder:
                    _attend(job, Path(folder))
            except Exception as error:
                job.said, job.state = f"{type(error).__name__} in the dashboard", "failed"
            finally:
                job.process = None
                # Neither the rows a report was made from nor the rain are needed any more.
                job.question = replace(job.question, rows=None, rain=None)


def _attend(job: Job, folder: Path) -> None:
    """Start the worker, follow its progress, take its answer."""
    (folder / QUESTION).write_bytes(pickle.dumps(job.question))
    paths = [str(ROOT), os.environ.get("PYTHONPATH", "")]
    with (folder / "log").open("wb") as log:
        job.process = subprocess.Popen(
            [sys.executable, "-m", "dashboard.worker", str(folder)],
            stdin=subprocess.DEVNULL, stdout=log, stderr=log, start_new_session=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
        )  # fmt: skip
        code = _follow(job, job.process, folder)
    job.took_s = time.monotonic() - job.began_s
    if (folder / RESULT).exists():
        job.result = pickle.loads((folder / RESULT).read_bytes())
    if job.stop.is_set():
        job.state = "cancelled"
    elif code == 0:
        job.state = "done"
    else:
        told = folder / "refused.txt"
        job.said = told.read_text() if told.exists() else "the worker stopped; see the log of the server"
        print((folder / "log").read_text(errors="replace"), file=sys.stderr)
        job.state = "failed"


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
        elif asked_at is not None and time.monotonic() - asked_at > 30.0:
            process.kill()
