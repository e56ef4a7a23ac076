"""Workers that are there already: a dask cluster by its address, or the processes of an MPI launch.

Both are reached through `concurrent.futures.Executor`, as everyone else who does the work; neither package is
needed unless its cluster is named.
"""

import hashlib
import logging
import pickle
import re
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any

from sim.errors import InputError
from sim.study.runs.batch import Batch, Done, Job, run_batch, start_worker, unpacked, work
from sim.study.runs.workers import Crew
from sim.version import program_version

MPI = "mpi"
_ADDRESS = re.compile(r"[a-z]+://\S+:\d+")
_PLACES = 2  # batches a worker: one under way, one on its way
_CONNECT_S = 10.0
_RETRIES = 3  # of a batch whose worker died


def cluster(job: Job, address: str) -> AbstractContextManager[Crew]:
    """Have a cluster do the work.

    Parameters
    ----------
    address : str
        "mpi", or the address of a dask scheduler such as "tcp://host:8786".

    Raises
    ------
    InputError
        When it cannot be reached, or the package that reaches it is not installed.
    """
    return _mpi(job) if address == MPI else _dask(job, address)


@contextmanager
def _dask(job: Job, address: str) -> Iterator[Crew]:
    try:
        from distributed import CancelledError, Client, KilledWorker  # noqa: PLC0415  an extra
        from distributed.client import ClosedClientError  # noqa: PLC0415
    except ImportError:
        raise InputError(
            f"scheduler {address} needs the package distributed; install cisterntwin[cluster]"
        ) from None
    if not _ADDRESS.fullmatch(address):
        raise InputError(f"scheduler is {address!r}; wanted an address such as tcp://host:8786, or mpi")
    try:
        client = Client(address, timeout=_CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            f"scheduler {address} cannot be reached ({type(error).__name__}); "
            "wanted the address of a running dask scheduler, such as tcp://host:8786"
        ) from None
    with _quiet(), client:
        workers = client.scheduler_info(n_workers=-1)["workers"]
        if not workers:
            raise InputError(f"scheduler {address} has no workers; wanted at least one")
        # A task of its own, so that it is sent once and made again when the worker that holds it is lost.
        packed = pickle.dumps(job)
        sent = client.submit(bytes, packed, key=f"job-{hashlib.sha256(packed).hexdigest()}", retries=_RETRIES)
        yield Crew(
            client.get_executor(retries=_RETRIES, pure=False),
            _PLACES * sum(one["nthreads"] for one in workers.values()),
            work_sent,
            (program_version(), sent),
            (KilledWorker, CancelledError, ClosedClientError),
            f"scheduler {address}",
        )


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the package's own messages from the screen: what matters is said by who asked."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


@contextmanager
def _mpi(job: Job) -> Iterator[Crew]:
    try:
        from mpi4py.futures import MPIPoolExecutor  # noqa: PLC0415  an extra
    except (ImportError, RuntimeError) as error:
        raise InputError(f"scheduler mpi needs mpi4py and an MPI library ({error})") from None
    pool = MPIPoolExecutor(initializer=start_worker, initargs=(program_version(), pickle.dumps(job)))
    with pool:
        yield Crew(pool, _PLACES * pool.num_workers, work)


_unpacked: dict[str, Any] = {}  # in a worker of a cluster: the last job


def work_sent(version: str, packed: bytes, batch: Batch) -> Done:
    """Run a batch of a job that is sent along.

    Raises
    ------
    InputError
        When this worker runs another version of the program.
    """
    if _unpacked.get("packed") != packed or _unpacked.get("version") != version:
        _unpacked.update(version=version, packed=packed, job=unpacked(version, packed))
    return run_batch(_unpacked["job"], batch)
