"""Who does the work: this process at once, or others that must not fight over the cores."""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from typing import Any

_THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")


class InLine(Executor):
    """An executor that does the work at once, in this process."""

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Call the function now.

        Parameters
        ----------
        fn : callable
            What to call.
        *args : object
            Its arguments.
        **kwargs : object
            Its named arguments.

        Returns
        -------
        Future
            Already done; an error is kept in it, an interrupt goes straight up.
        """
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@contextmanager
def one_thread_each() -> Iterator[None]:
    """Have child processes start with one thread for arithmetic; the limit is read when they first import it.

    Yields
    ------
    None
        The environment is as it was afterwards.
    """
    before = {name: os.environ.get(name) for name in _THREAD_LIMITS}
    os.environ.update(dict.fromkeys(_THREAD_LIMITS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
