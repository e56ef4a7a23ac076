"""What a worker does. Imports no tables and no statistics: every worker pays for what stands here."""

import gc
import signal
from dataclasses import dataclass
from typing import Any

from sim.outcome import measures
from sim.scenario.care import Policy
from sim.scenario.scenario import Scenario
from sim.scenario.series import RainRecord
from sim.twin import run as twin

Row = dict[str, float | int | str]
Batch = range
Rows = dict[int, list[Row]]


@dataclass(frozen=True)
class Job:
    """What every task of a study shares; sent to a worker once."""

    scenario: Scenario
    policies: tuple[Policy, ...]
    seed: int
    years: int
    rain: RainRecord | None
    draws: dict[str, Any] | None

    def replication(self, number: int) -> list[Row]:
        """Run all policies through one replication.

        Parameters
        ----------
        number : int
            Replication, from 0.

        Returns
        -------
        list of dict
            One row per policy, in their order.
        """
        common = twin.common_inputs(self.scenario, number, self.seed, self.years, self.rain, self.draws)
        rows = []
        for policy in self.policies:
            rows.append(measures.row(twin.run(self.scenario, policy, common), self.draws))
            gc.collect()  # processes and their world hold each other, and years of draws with them
        return rows


_shared: dict[str, Job] = {}  # in a worker: the job, set once at its start


def start_worker(job: Job) -> None:
    """Make a process ready to work.

    Parameters
    ----------
    job : Job
        What all its tasks share.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what an interrupt means
    _shared["job"] = job
    gc.freeze()  # what was imported stays, and need not be looked through again


def work(batch: Batch) -> Rows:
    """Run a batch of replications of the job this worker was started with.

    Parameters
    ----------
    batch : range
        Numbers of the replications.

    Returns
    -------
    dict
        Rows by replication.
    """
    return run_batch(_shared["job"], batch)


def run_batch(job: Job, batch: Batch) -> Rows:
    """Run a batch of replications.

    Parameters
    ----------
    job : Job
        What all tasks of the study share.
    batch : range
        Numbers of the replications.

    Returns
    -------
    dict
        Rows by replication.
    """
    return {number: job.replication(number) for number in batch}
