"""A request to end, as a queue sends before it kills, is an interrupt: what was finished is kept."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def asked_to_end() -> Iterator[None]:
    """Take SIGTERM for an interrupt meanwhile, where nothing else was wanted of it."""
    mine = threading.current_thread() is threading.main_thread()  # no other may say what a signal does
    if not mine or signal.getsignal(signal.SIGTERM) is not signal.SIG_DFL:
        yield
        return
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
