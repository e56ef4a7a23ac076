"""Many runs of many policies: replications in small batches, put back in order, kept when interrupted.

All policies of a replication meet the same weather, draws, power cuts and part lives, made once for them all.
The seam is `concurrent.futures.Executor`: in line with one worker, else processes; same rows, same bytes.
"""

import math
import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from sim.errors import InputError, TwinError
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.scenario.series import RainRecord
from sim.study.job import Batch, Job, Rows, run_batch, start_worker, work
from sim.study.limits import MOST_REPLICATIONS, MOST_WORKERS, MOST_YEARS, in_range
from sim.study.stopping import enough
from sim.study.workers import InLine, one_thread_each
from sim.twin import run as twin

BATCH_LIMIT = 3  # replications a task, so that an interrupt loses little
BATCH_YEARS = 12  # policy-years a task is filled up to
CONFIDENCE = 0.95
COMPLETE = "complete"
INTERRUPTED = "interrupted"


@dataclass(frozen=True)
class StudyResult:
    """What a study finished.

    Attributes
    ----------
    rows : DataFrame
        One row per policy and replication, in the order of the policies, then of the replications.
    finished : int
        Replications every policy finished and that are in `rows`.
    wanted : int
        Replications that were asked for.
    stopped_because : str
        "complete", "interrupted", or the sentence why fewer replications are enough.
    """

    rows: pd.DataFrame
    finished: int
    wanted: int
    stopped_because: str

    @property
    def interrupted(self) -> bool:
        """Whether the user stopped it."""
        return self.stopped_because == INTERRUPTED


@dataclass
class _Stop:
    """Looks, replication by replication in order, whether the cost differences are known well enough."""

    job: Job
    reference: str
    within: float
    costs: dict[str, list[float]] = field(default_factory=dict)
    looked: int = 0

    def __call__(self, done: Rows) -> str:
        names = [policy.name for policy in self.job.policies]
        at = names.index(self.reference)
        while self.looked in done:
            rows = done[self.looked]
            for name, row in zip(names, rows, strict=True):
                if name != self.reference:
                    self.costs.setdefault(name, []).append(float(row["cost"]) - float(rows[at]["cost"]))
            self.looked += 1
            met, why = enough(self.costs, self.within, CONFIDENCE, self.job.scenario.prices.currency)
            if met:
                return why
        return ""


def study(
    scenario: Scenario,
    policies: Sequence[Policy],
    seed: int,
    years: int,
    replications: int,
    workers: int,
    rain: RainRecord | None,
    draws: dict[str, Any] | None,
    on_progress: Callable[[int, int], None],
    within: float | None = None,
    reference: str | None = None,
) -> StudyResult:
    """Run every policy through the same replications.

    Parameters
    ----------
    scenario : Scenario
        The site.
    policies : sequence of Policy
        Ways of looking after it; names differ.
    seed : int
        Root of every random stream, >= 0.
    years : int
        Length of one run [year], >= 1.
    replications : int
        Runs of each policy, >= 1; a cap when `within` is given.
    workers : int
        Processes, >= 1; the rows are the same for any number.
    rain : RainRecord or None
        Recorded rain; None for that of the scenario.
    draws : dict or None
        Metered draws; None for those of the scenario's household.
    on_progress : callable
        Called with replications finished and wanted.
    within : float, optional
        Stop once all yearly cost differences to the reference are known to this half-width [money/year], > 0.
    reference : str, optional
        Name of the policy the differences are to; the first when absent.

    Returns
    -------
    StudyResult
        Rows of what was finished, also after an interrupt.

    Raises
    ------
    InputError
        When a number is below its range or there is no policy.
    TwinError
        When a worker process died.
    """
    check_asked(seed, years, replications, workers, within)
    if not policies:
        raise InputError("no policy was given; wanted at least one")
    job = Job(scenario, tuple(policies), seed, years, rain, draws)
    stop = None if within is None else _Stop(job, reference or policies[0].name, within)
    done: Rows = {}
    try:
        because = _fan_out(
            job, _batches(job, replications, workers), workers, done, replications, on_progress, stop
        )
    except KeyboardInterrupt:
        because = INTERRUPTED
    except BrokenProcessPool as error:
        raise TwinError("a worker process died (memory may have run out); try fewer --workers") from error
    if stop is not None and because not in {COMPLETE, INTERRUPTED}:
        # Workers may have run ahead: only what was looked at counts, whatever their number.
        done = {number: rows for number, rows in done.items() if number < stop.looked}
    return StudyResult(_frame(job, done), len(done), replications, because)


def check_asked(seed: int, years: int, replications: int, workers: int, within: float | None) -> None:
    """Refuse a study of which too little or too much is asked.

    Parameters
    ----------
    seed, years, replications, workers : int
        As for `study`.
    within : float or None
        As for `study`.

    Raises
    ------
    InputError
        When a number is out of its range.
    """
    in_range("seed", seed, 0)
    in_range("years", years, 1, MOST_YEARS)
    in_range("replications", replications, 1, MOST_REPLICATIONS)
    in_range("workers", workers, 1, MOST_WORKERS)
    if within is not None and not 0 < within < math.inf:
        raise InputError(f"within is {within:g}; wanted an amount of money above 0")


def _batches(job: Job, replications: int, workers: int) -> list[Batch]:
    fill = max(1, BATCH_YEARS // (job.years * len(job.policies)))
    size = max(1, min(BATCH_LIMIT, fill, replications // workers))
    return [range(first, min(first + size, replications)) for first in range(0, replications, size)]


def _fan_out(
    job: Job,
    batches: list[Batch],
    workers: int,
    done: Rows,
    wanted: int,
    on_progress: Callable[[int, int], None],
    stop: _Stop | None,
) -> str:
    """Hand out batches, fill `done` as they come, return why it ended."""
    on_progress(0, wanted)
    left = iter(batches)
    pending: set[Future[Rows]] = set()
    with _executor(job, min(workers, len(batches))) as (pool, task):
        try:
            while True:
                while len(pending) < workers and (batch := next(left, None)) is not None:
                    pending.add(pool.submit(task, batch))
                if not pending:
                    return COMPLETE
                ready, pending = wait(pending, return_when=FIRST_COMPLETED)
                for future in ready:
                    done |= future.result()
                on_progress(len(done), wanted)
                if stop is not None and (why := stop(done)):
                    return why
        except KeyboardInterrupt:
            # What is under way (no more than one batch a worker) is awaited and kept.
            pool.shutdown(wait=True, cancel_futures=True)
            for future in pending:
                if not future.cancelled() and future.exception() is None:
                    done |= future.result()
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _executor(job: Job, workers: int) -> Iterator[tuple[Executor, Callable[[Batch], Rows]]]:
    if workers == 1:
        yield InLine(), lambda batch: run_batch(job, batch)
        return
    _warm_up(job)
    with one_thread_each():
        pool = ProcessPoolExecutor(
            workers,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=start_worker,
            initargs=(job,),
        )
        yield pool, work


def _warm_up(job: Job) -> None:
    """Compile once here, so that workers find it in the cache instead of each doing the same."""
    common = twin.common_inputs(job.scenario, 0, job.seed, 1, job.rain, job.draws)
    twin.run(job.scenario, job.policies[0], common)


def _frame(job: Job, done: Rows) -> pd.DataFrame:
    numbers = sorted(done)
    return pd.DataFrame([done[number][at] for at in range(len(job.policies)) for number in numbers])
