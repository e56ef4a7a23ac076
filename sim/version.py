"""Which program made a row: a digest of the source that decides it, and of the packages under it."""

import hashlib
import platform
from functools import cache
from importlib.metadata import version
from pathlib import Path

SOURCE = Path(__file__).parent
# What stands left of the studies, and what a worker does; words, reports and pages decide no row.
_DECIDE = ("*.py", *(f"{place}/**/*.py" for place in ("scenario", "supply", "demand", "plant", "upkeep")))
_DECIDE += ("twin/**/*.py", "outcome/*.py", "diary/paths.py", "study/runs/batch.py", "study/runs/sent.py")
_PACKAGES = ("numpy", "numba", "simpy", "pydantic")


@cache
def program_version() -> str:
    """Return what names the program by its content.

    Notes
    -----
    Kinds of processor are not told apart, although numpy may round some functions otherwise on another kind.
    """
    digest = hashlib.sha256(".".join(platform.python_version_tuple()[:2]).encode())
    for package in _PACKAGES:
        digest.update(f"{package} {version(package)}\n".encode())
    for file in sorted({file for pattern in _DECIDE for file in SOURCE.glob(pattern)}):
        if file.name != "cli.py":
            digest.update(file.relative_to(SOURCE).as_posix().encode() + file.read_bytes())
    return digest.hexdigest()[:16]
