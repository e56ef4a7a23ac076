"""What another process does with the work it is sent; it loads no tables, as every worker pays for them."""

import os
import signal
import threading
from multiprocessing import parent_process
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from sim.errors import InputError
from sim.study.runs.batch import Batch, Done, Job, run_batch
from sim.study.runs.sent import unpacked
from sim.version import program_version

_held: dict[str, Any] = {}  # what this process was sent, and the job it came to


def start_worker(version: str, sent: str) -> None:
    """Make a process of this machine ready to work.

    Parameters
    ----------
    sent : str
        File of the job.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what an interrupt means
    threading.Thread(target=_end_with_parent, daemon=True).start()
    _held.update(version=version, packed=Path(sent).read_bytes())


def work(batch: Batch) -> Done:
    """Run a batch of the job this process was started with."""
    return work_sent(_held["version"], _held["packed"], batch)


def work_sent(version: str, packed: bytes, batch: Batch) -> Done:
    """Run a batch of a job that is sent along.

    Refused when this process runs another version of the program.
    """
    # Checked here and not at the start: an error there would only be told as a broken pool.
    if "job" not in _held or (_held["version"], _held["packed"]) != (version, packed):
        _held.update(version=version, packed=packed, job=job_of(version, packed))
    return run_batch(_held["job"], batch)


def job_of(version: str, packed: bytes) -> Job:
    """Return a job that was sent, unless it comes from another version of the program.

    Refused when the versions differ; the job is then not looked at.
    """
    if version != program_version():
        raise InputError(
            f"a worker runs version {program_version()} of the program or its packages; wanted {version}, "
            "that of the process which sends the work"
        )
    return unpacked(packed)


def _end_with_parent() -> None:
    """End this process when the one that started it is gone: nobody else would tell it."""
    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
