"""The one place that meets the compiler: equations stay plain Python and are compiled as they are."""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

from sim.disk import cache, private

F = TypeVar("F", bound=Callable[..., Any])


def _cache_folder() -> Path:
    """Name a folder for compiled code after all the source it may hold.

    The compiler's own cache looks only at the file a function stands in, not at the equations it calls,
    so an edited equation would go on running in its old form; a folder per state of the source cannot.
    """
    digest = hashlib.sha256()
    for file in sorted(Path(__file__).parent.rglob("*.py")):
        source = file.read_bytes()
        if b"compiled" in source or file.name == "constants.py":
            digest.update(source)
    return cache(digest.hexdigest()[:16])


# What the compiler finds in its folder runs: nobody else may have put it there.
if named := os.environ.get("NUMBA_CACHE_DIR"):
    private(Path(named))
else:
    numba.config.CACHE_DIR = str(_cache_folder())  # type: ignore[attr-defined]


def compiled(function: F) -> F:
    """Compile a scalar function, keeping the source as it is (`function.py_func` runs it uncompiled).

    IEEE arithmetic is kept (no fast-math), so the same inputs give the same bits on one platform;
    division by zero follows numpy (inf or nan) because equations raise nothing.
    """
    return _jit(function)


def lean(function: F) -> F:
    """Compile a function that makes no array, without the counts of references to the arrays it is handed.

    Each count is a locked instruction, and without this they cost as much as the physics. The option is
    numba's own and not promised to stay: pyproject.toml bounds its version; tests compare with the source.
    """
    return _jit(function, _nrt=False)


def inlined(function: F) -> F:
    """Compile a lean function and put it whole into each that calls it, for what runs at every step."""
    return _jit(function, _nrt=False, forceinline=True)


def _jit(function: F, **options: Any) -> F:
    options["no_cfunc_wrapper"] = True  # nothing calls these from C, and it too would have to be compiled
    return cast(F, numba.njit(cache=True, error_model="numpy", **options)(function))
