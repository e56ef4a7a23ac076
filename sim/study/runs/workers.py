"""Who does the work: this process at once, or others that must not fight over the cores."""

import multiprocessing
import os
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sim.errors import InputError
from sim.pool import Pool
from sim.study.runs.batch import Batch, Done, Job, run_batch
from sim.study.runs.sent import packed
from sim.study.runs.worker import start_worker, work
from sim.version import program_version

_THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")


class InLine(Executor):
    """An executor that does the work at once, in this process."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Call the function now."""
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@contextmanager
def one_thread_each() -> Iterator[None]:
    """Have child processes start with one thread for arithmetic; the limit is read at first import."""
    before = {name: os.environ.get(name) for name in _THREAD_LIMITS}
    os.environ.update(dict.fromkeys(_THREAD_LIMITS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


@dataclass(frozen=True)
class Crew:
    """Who does the work, and how a batch is put to them."""

    executor: Executor  # takes calls
    places: int  # batches that can be under way at once
    task: Callable[..., Done]  # takes what was sent, then a batch
    sent: tuple[Any, ...] = ()  # what every call repeats; small, or a handle of what is there already
    gone: tuple[type[Exception], ...] = ()  # what a batch raises when its workers are gone for good
    name: str = "workers"  # what people call them

    def submit(self, batch: Batch) -> Future[Done]:
        """Put a batch to them."""
        return self.executor.submit(self.task, *self.sent, batch)


@contextmanager
def in_line(job: Job) -> Iterator[Crew]:
    """Have this process do the work."""
    yield Crew(InLine(), 1, run_batch, (job,))


@contextmanager
def processes(job: Job, workers: int) -> Iterator[Crew]:
    """Have processes on this machine do the work; they end with this one.

    Notes
    -----
    The job goes to them by a file: what a new process is handed goes through a pipe, and one that is killed
    before it has read all of that would be waited for for ever.
    """
    with one_thread_each(), tempfile.TemporaryDirectory(prefix="cisterntwin-") as folder:
        sent = Path(folder) / "job"
        _write(sent, packed(job))
        pool = Pool(workers, start_worker, (program_version(), str(sent)))
        try:
            yield Crew(pool, workers, work)
        finally:
            _end_if_broken(pool)
            pool.shutdown(wait=True, cancel_futures=True)


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise InputError(f"{path} cannot be written to: {error.strerror or error}") from None


def _end_if_broken(pool: Pool) -> None:
    """End what is left of a pool that lost a worker, which itself waits for the others, maybe for good."""
    try:
        pool.submit(int)
    except BrokenExecutor:
        for child in multiprocessing.active_children():
            child.kill()
