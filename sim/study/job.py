"""What a worker does. Imports no tables and no statistics: every worker pays for what stands here."""

import gc
import os
import pickle
import signal
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing import parent_process
from multiprocessing.connection import wait
from typing import Any, NamedTuple, cast

import numpy as np
import numpy.typing as npt

from sim.errors import InputError
from sim.outcome import measures
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.scenario.series import RainRecord
from sim.study.version import program_version
from sim.twin import run as twin

Row = dict[str, float | int | str]
Columns = dict[str, npt.NDArray[Any] | list[str]]


class Unit(NamedTuple):
    """The least a worker is asked for: some policies of one design through one replication."""

    design: int
    policies: tuple[int, ...]
    replication: int


Batch = tuple[Unit, ...]


@dataclass(frozen=True)
class Done:
    """What came of a batch: a row for each policy of each unit, and how long it took."""

    columns: Columns
    took_s: float


@dataclass(frozen=True)
class Job:
    """What every batch of a study shares; sent to a worker once."""

    designs: tuple[tuple[Scenario, tuple[Policy, ...]], ...]
    seed: int
    years: int
    rain: RainRecord | None
    draws: dict[str, Any] | None

    def unit(self, unit: Unit) -> list[Row]:
        """Run some policies of a design through one replication.

        Parameters
        ----------
        unit : Unit
            Which.

        Returns
        -------
        list of dict
            One row per policy, in their order.
        """
        scenario, policies = self.designs[unit.design]
        common = twin.common_inputs(scenario, unit.replication, self.seed, self.years, self.rain, self.draws)
        rows = []
        for number in unit.policies:
            rows.append(measures.row(twin.run(scenario, policies[number], common)))
            gc.collect()  # processes and their world hold each other, and years of draws with them
        return rows


def run_batch(job: Job, batch: Batch) -> Done:
    """Run a batch.

    Parameters
    ----------
    job : Job
        What all batches of the study share.
    batch : tuple of Unit
        What to run.

    Returns
    -------
    Done
        Rows in the order of the units, then of their policies.
    """
    began_s = time.perf_counter()
    rows = [row for unit in batch for row in job.unit(unit)]
    return Done(columns(rows), time.perf_counter() - began_s)


def columns(rows: Sequence[Row]) -> Columns:
    """Return rows as columns, a fifth of their size.

    Parameters
    ----------
    rows : sequence of dict
        At least one; all with the same names.

    Returns
    -------
    dict
        Text as a list, whole numbers and fractions as arrays.
    """
    found: Columns = {}
    for name, first in rows[0].items():
        values = [row[name] for row in rows]
        found[name] = cast("list[str]", values) if isinstance(first, str) else np.array(values)
    return found


_sent: dict[str, Any] = {}  # in a worker: what it was sent, and the job once it was unpacked


def start_worker(version: str, packed: bytes) -> None:
    """Make a process ready to work.

    Parameters
    ----------
    version : str
        `program_version` of who sends the work.
    packed : bytes
        The pickled `Job` of all its batches.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what an interrupt means
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _sent.update(version=version, packed=packed)
    gc.freeze()  # what was imported stays, and need not be looked through again


def work(batch: Batch) -> Done:
    """Run a batch of the job this worker was started with.

    Parameters
    ----------
    batch : tuple of Unit
        What to run.

    Returns
    -------
    Done
        Its rows.

    Raises
    ------
    InputError
        When this worker runs another version of the program.
    """
    # Checked here and not at the start: an error there would only be told as a broken pool.
    if "job" not in _sent:
        _sent["job"] = unpacked(_sent["version"], _sent["packed"])
    return run_batch(_sent["job"], batch)


def unpacked(version: str, packed: bytes) -> Job:
    """Return a job that was sent, unless it comes from another version of the program.

    Parameters
    ----------
    version : str
        `program_version` of who sent it.
    packed : bytes
        The pickled job.

    Returns
    -------
    Job
        To be worked on.

    Raises
    ------
    InputError
        When the versions differ; the job is then not looked at.
    """
    if version != program_version():
        raise InputError(
            f"a worker runs version {program_version()} of the program or its packages; wanted {version}, "
            "that of the process which sends the work"
        )
    return cast(Job, pickle.loads(packed))


def _end_with_parent() -> None:
    """End this process when the one that started it is gone: nobody else would tell it."""
    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
