"""Answers kept on disk, so that a question asked before is answered at once also after a restart.

One folder an answer, in the user's cache: `answer.json` says what it is and the SHA-256 of each table beside
it in Parquet. It is written under another name and renamed when whole. What is damaged, foreign or of another
version is passed over and replaced; nothing that is read here can run.
"""

import hashlib
import json
import os
import shutil
import tempfile
import time
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from sim import __version__, disk
from sim.errors import InputError
from sim.study.questions import KINDS, answer_files, read_answer

MOST_BYTES = 200 * 1024**2
MOST_KEPT = 200  # answers
_ABOUT = "answer.json"
_MOST_ABOUT_BYTES = 1024**2
_PART = ".part"
_STALE_S = 3600.0  # after this nobody is still writing
_FORM = 2
_ROOT = Path(__file__).parents[2]


@cache
def edition() -> str:
    """Return what names the program that answers: its version and its source."""
    found = hashlib.sha256(f"{__version__} {np.__version__} {_FORM}".encode())
    files = [*(_ROOT / "sim").rglob("*.py"), *(_ROOT / "scenarios").rglob("*.csv")]
    for file in sorted([*files, _ROOT / "dashboard" / "jobs" / "worker.py"]):
        found.update(file.read_bytes())
    return f"{__version__}-{found.hexdigest()[:16]}"


def default_folder() -> Path:
    """Return the folder of answers in the user's cache."""
    return disk.cache("answers")


class AnswerStore:
    """Answers by key in a folder; a store that cannot be used costs time, never an answer."""

    def __init__(self, folder: Path, most_kept: int = MOST_KEPT, most_bytes: int = MOST_BYTES) -> None:
        """Use a folder, which need not exist."""
        self._folder, self._most_kept, self._most_bytes = folder, most_kept, most_bytes

    def read(self, key: str) -> tuple[Any, float] | None:
        """Return an answer and the time its making took [s], None when there is none that is whole."""
        entry = self._folder / key
        try:
            disk.private(self._folder)
            if (entry / _ABOUT).stat().st_size > _MOST_ABOUT_BYTES:
                return None
            about = json.loads((entry / _ABOUT).read_bytes())
            if about["edition"] != edition() or about["key"] != key:
                return None
            found = read_answer(entry)
            os.utime(entry)  # the oldest is the one not looked at for longest
            return found, float(about["took_s"])
        except Exception:  # whatever is wrong with a file of others, it is only not an answer
            return None

    def keep(self, key: str, result: Any, took_s: float) -> bool:
        """Keep an answer, and let the oldest go; return whether it was kept."""
        if getattr(result, "kind", None) not in KINDS:
            return False
        try:
            files = answer_files(result, {"edition": edition(), "key": key, "took_s": took_s})
            disk.private(self._folder)
            waiting = Path(tempfile.mkdtemp(prefix=f"{key}-", suffix=_PART, dir=self._folder))
            try:
                for name, content in files.items():
                    (waiting / name).write_bytes(content)
                _replace(waiting, self._folder / key)
            finally:
                shutil.rmtree(waiting, ignore_errors=True)
            self._let_go()
        except (
            OSError,
            TypeError,
            ValueError,
            InputError,
        ):  # no place, no right, or a value JSON does not know
            return False
        return True

    def _let_go(self) -> None:
        """Bring the store back within its bounds; what others left half written goes too."""
        entries = sorted(self._folder.iterdir(), key=lambda path: path.stat().st_mtime)
        left = {entry: _size(entry) for entry in entries}
        for entry in entries:
            stale = entry.name.endswith(_PART) and time.time() - entry.stat().st_mtime > _STALE_S
            if stale or len(left) > self._most_kept or sum(left.values()) > self._most_bytes:
                _remove(entry)
                del left[entry]


def _replace(waiting: Path, final: Path) -> None:
    """Rename a whole entry into place; one that stands there is moved out of the way first."""
    for _ in range(3):  # another server may put its own there in between
        try:
            os.rename(waiting, final)
            return
        except OSError:
            _remove(final)
    os.rename(waiting, final)


def _remove(entry: Path) -> None:
    if entry.is_dir() and not entry.is_symlink():
        shutil.rmtree(entry, ignore_errors=True)
    else:
        entry.unlink(missing_ok=True)


def _size(entry: Path) -> int:
    return sum(file.stat().st_size for file in entry.iterdir()) if entry.is_dir() else 0
