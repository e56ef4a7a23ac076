"""Processes beside this one, which the terminal's interrupt does not reach: who started them decides."""

import multiprocessing
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import resource_tracker
from typing import Any

_STARTS = {"method": "spawn"}  # new ones, as a copy of a process with threads may wait for ever


def copy_this_process() -> None:
    """Have pools take copies of this process from now on: it has one thread, and its code loaded."""
    _STARTS["method"] = "fork"


class Pool(ProcessPoolExecutor):
    """A pool of processes; one that is still starting would answer an interrupt with a traceback."""

    def __init__(
        self, workers: int, initializer: Callable[..., object] | None = None, initargs: tuple[Any, ...] = ()
    ) -> None:
        """Begin; a process is started when there is work for it."""
        context = multiprocessing.get_context(_STARTS["method"])
        super().__init__(workers, context, initializer, initargs)

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Put a call to them."""
        with _interrupts_wait():
            return super().submit(fn, *args, **kwargs)


@contextmanager
def _interrupts_wait() -> Iterator[None]:
    """Hold interrupts back; processes that are started meanwhile never hear of any."""
    if not hasattr(signal, "pthread_sigmask"):  # not on every system
        yield
        return
    resource_tracker.ensure_running()  # or it is started with the pool, and lets interrupts through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
