"""Workers that are there already: a dask cluster by the address of its scheduler.

It is reached through `concurrent.futures.Executor`, as everyone else who does the work; its package is not
needed unless a cluster is named.
"""

import hashlib
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager

from sim.errors import InputError
from sim.study.runs.batch import Job
from sim.study.runs.sent import packed
from sim.study.runs.worker import work_sent
from sim.study.runs.workers import Crew
from sim.version import program_version

_ADDRESS = re.compile(r"(tcp|tls)://([\w.-]+|\[[0-9a-fA-F:.]+\]):(\d{1,5})", re.ASCII)
_PLACES = 2  # batches a worker: one under way, one on its way
_CONNECT_S = 10.0
_RETRIES = 3  # of a batch whose worker died


@contextmanager
def cluster(job: Job, address: str) -> Iterator[Crew]:
    """Have a dask cluster do the work.

    Refused when it cannot be reached, or the package that reaches it is not installed.

    Parameters
    ----------
    address : str
        Of its scheduler, such as "tcp://host:8786", or "tls://host:8786".

    Notes
    -----
    What a scheduler sends back is unpickled here, so it must be trusted, and with "tcp" the network as well.
    Keys and certificates of "tls" are those of dask's own configuration, `distributed.comm.tls`.
    """
    try:
        from distributed import CancelledError, Client, KilledWorker  # noqa: PLC0415  an extra
        from distributed.client import ClosedClientError  # noqa: PLC0415
        from distributed.security import Security  # noqa: PLC0415
    except ImportError:
        raise InputError(
            f"scheduler {address} needs the package distributed; install cisterntwin[cluster]"
        ) from None
    match = _ADDRESS.fullmatch(address)
    if match is None or not 0 < int(match[3]) < 65536:
        raise InputError(f"scheduler is {address!r}; wanted an address such as tcp://host:8786")
    security = Security()
    try:
        keys = security.get_connection_args("client").get("ssl_context")
    except (OSError, ValueError, TypeError) as error:
        raise InputError(f"dask's settings distributed.comm.tls cannot be used: {error}") from None
    if match[1] == "tls" and keys is None:
        raise InputError(
            f"scheduler {address} wants TLS; wanted dask's settings distributed.comm.tls, ca-file at least"
        )
    try:
        client = Client(address, timeout=_CONNECT_S, set_as_default=False, security=security)
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
        content = packed(job)
        sent = client.submit(
            bytes, content, key=f"job-{hashlib.sha256(content).hexdigest()}", retries=_RETRIES
        )
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
