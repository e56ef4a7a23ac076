"""The one place that meets the compiler: equations stay plain Python and are compiled as they are."""

from collections.abc import Callable
from typing import Any, TypeVar

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compile a scalar function, keeping the source as it is (`function.py_func` runs it uncompiled).

    IEEE arithmetic is kept (no fast-math), so the same inputs give the same bits on one platform;
    division by zero follows numpy (inf or nan) because equations raise nothing.

    Parameters
    ----------
    function : callable
        Scalar pure function of floats, or a loop over numpy arrays.

    Returns
    -------
    callable
        The compiled function, cached on disk between processes.
    """
    return numba.njit(cache=True, error_model="numpy")(function)  # type: ignore[no-any-return]
