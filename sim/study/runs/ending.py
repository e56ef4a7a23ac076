"""A request to end, as a queue sends before it kills, is an interrupt; neither comes while workers start."""

import signal
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager


@contextmanager
def asked_to_end() -> Iterator[None]:
    """Take SIGTERM for an interrupt meanwhile; what others wanted of it, or of SIGINT, stays."""
    with ExitStack() as stack:
        if threading.current_thread() is threading.main_thread():  # no other may say what a signal does
            _take(stack, signal.SIGTERM, signal.SIG_DFL)
            _take(stack, signal.SIGINT, signal.default_int_handler)
        yield


def _take(stack: ExitStack, number: signal.Signals, usual: object) -> None:
    if signal.getsignal(number) is usual:
        stack.callback(signal.signal, number, signal.signal(number, _interrupt))


def _interrupt(number: int, frame: object) -> None:
    """Interrupt, or have it wait where interrupts are held back.

    Holding them back is not enough: the system hands a signal to any thread that takes it, those of the
    libraries too, and the first one acts on it. A worker that is cut off as it starts ends with a traceback.
    """
    del number, frame
    if _held_back():
        signal.pthread_kill(threading.get_ident(), signal.SIGINT)  # to this thread, so it waits
    else:
        raise KeyboardInterrupt


def _held_back() -> bool:
    if not hasattr(signal, "pthread_sigmask"):  # not on every system
        return False
    return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, ())
