"""Runs over draws of what is uncertain: every policy through a few replications at each drawn site.

Draws and replications stay apart: each draw has its own weather, so that the spread between draws beyond the
spread within them is that of the inputs. The rows are the same for any number of workers.
"""

import gc
import multiprocessing
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pandas as pd

from sim.errors import InputError, TwinError
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.scenario.series import RainRecord
from sim.study.replicate import study
from sim.study.sampling import Site, Span, seed_of, sites, spans
from sim.study.workers import InLine, one_thread_each


@dataclass(frozen=True)
class Plan:
    """What every draw shares.

    Attributes
    ----------
    policies : tuple of Policy
        Ways of looking after the site.
    seed : int
        Root of chance, >= 0.
    years : int
        Length of a run [year], >= 1.
    replications : int
        Runs of each policy at a draw, >= 2.
    rain : RainRecord or None
        Recorded rain.
    draws : dict or None
        Metered draws of water.
    """

    policies: tuple[Policy, ...]
    seed: int
    years: int
    replications: int
    rain: RainRecord | None
    draws: dict[str, Any] | None


@dataclass(frozen=True)
class Sampled:
    """What was finished.

    Attributes
    ----------
    rows : DataFrame
        The rows of a study with the number of the draw before them, in the order of draws.
    sites : tuple of Site
        The finished draws, in order.
    spans : tuple of Span
        What was drawn.
    wanted : int
        Draws that were asked for.
    interrupted : bool
        Whether the user stopped it.
    """

    rows: pd.DataFrame
    sites: tuple[Site, ...]
    spans: tuple[Span, ...]
    wanted: int
    interrupted: bool


def sampled(
    scenario: Scenario,
    plan: Plan,
    count: int,
    workers: int,
    known: Sequence[str],
    on_progress: Callable[[int, int], None],
) -> Sampled:
    """Run every policy at sites drawn over what is uncertain.

    Parameters
    ----------
    scenario : Scenario
        The site as it is stated.
    plan : Plan
        What every draw shares.
    count : int
        Draws, >= 2.
    workers : int
        Processes, >= 1.
    known : sequence of str
        Keys that were measured at this site and are kept.
    on_progress : callable
        Called with draws finished and wanted.

    Returns
    -------
    Sampled
        Also after an interrupt: the draws that were finished.

    Raises
    ------
    InputError
        When a number is below its range or nothing is uncertain.
    TwinError
        When a worker process died.
    """
    for name, value, least in (("draws", count, 2), ("runs a draw", plan.replications, 2)):
        if value < least:
            raise InputError(f"{name} is {value}; wanted {least} or more")
    uncertain = spans(scenario, known)
    if not uncertain:
        raise InputError("nothing is uncertain at this site; wanted at least one input that is not known")
    drawn = sites(scenario, uncertain, count, plan.seed)
    done: dict[int, pd.DataFrame] = {}
    interrupted = False
    try:
        _fan_out(plan, drawn, workers, done, on_progress)
    except KeyboardInterrupt:
        interrupted = True
    except BrokenProcessPool as error:
        raise TwinError("a worker process died (memory may have run out); try fewer --workers") from error
    rows = pd.concat([done[number] for number in sorted(done)], ignore_index=True) if done else pd.DataFrame()
    finished = tuple(site for site in drawn if site.number in done)
    return Sampled(rows, finished, uncertain, count, interrupted)


def run_site(plan: Plan, site: Site) -> pd.DataFrame:
    """Run every policy at one drawn site, in this process.

    Parameters
    ----------
    plan : Plan
        What every draw shares.
    site : Site
        The draw.

    Returns
    -------
    DataFrame
        Rows of the study after the number of the draw.

    Raises
    ------
    KeyboardInterrupt
        When the user stopped it: part of a draw is no draw.
    """
    result = study(
        scenario=site.scenario,
        policies=plan.policies,
        seed=seed_of(plan.seed, site.number),
        years=plan.years,
        replications=plan.replications,
        workers=1,
        rain=plan.rain,
        draws=plan.draws,
        on_progress=lambda finished, wanted: None,
    )
    if result.interrupted:
        raise KeyboardInterrupt
    rows = result.rows.reset_index(drop=True)
    rows.insert(0, "draw", site.number)
    return rows


_shared: dict[str, Plan] = {}  # in a worker: the plan, set once at its start


def start_worker(plan: Plan) -> None:
    """Make a process ready to work.

    Parameters
    ----------
    plan : Plan
        What all its draws share.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what an interrupt means
    _shared["plan"] = plan
    gc.freeze()


def work(site: Site) -> pd.DataFrame:
    """Run one drawn site with the plan this worker was started with.

    Parameters
    ----------
    site : Site
        The draw.

    Returns
    -------
    DataFrame
        As from `run_site`.
    """
    return run_site(_shared["plan"], site)


def _fan_out(
    plan: Plan,
    drawn: list[Site],
    workers: int,
    done: dict[int, pd.DataFrame],
    on_progress: Callable[[int, int], None],
) -> None:
    """Hand out draws and fill `done` as they come."""
    on_progress(0, len(drawn))
    first, left = drawn[0], iter(drawn[1:])
    done[first.number] = run_site(plan, first)  # compiles here, so that workers find it in the cache
    on_progress(1, len(drawn))
    pending: dict[Future[pd.DataFrame], int] = {}
    with _executor(plan, min(workers, len(drawn) - 1)) as (pool, task):
        try:
            while True:
                while len(pending) < workers and (site := next(left, None)) is not None:
                    pending[pool.submit(task, site)] = site.number
                if not pending:
                    return
                ready, _ = wait(pending, return_when=FIRST_COMPLETED)
                for future in ready:
                    done[pending.pop(future)] = future.result()
                on_progress(len(done), len(drawn))
        except KeyboardInterrupt:
            # What is under way (one draw a worker) is awaited and kept.
            pool.shutdown(wait=True, cancel_futures=True)
            for future, number in pending.items():
                if not future.cancelled() and future.exception() is None:
                    done[number] = future.result()
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _executor(plan: Plan, workers: int) -> Iterator[tuple[Executor, Callable[[Site], pd.DataFrame]]]:
    if workers <= 1:
        yield InLine(), lambda site: run_site(plan, site)
        return
    with one_thread_each():
        context = multiprocessing.get_context("spawn")
        yield (
            ProcessPoolExecutor(workers, mp_context=context, initializer=start_worker, initargs=(plan,)),
            work,
        )
