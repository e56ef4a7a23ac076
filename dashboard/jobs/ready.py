"""Workers as they are started; one may have its code loaded and wait, so that the next begins at once."""

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from dashboard.jobs.worker import AHEAD, GO, LOG

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Started:
    """A worker and the folder through which it is asked."""

    kept: "tempfile.TemporaryDirectory[str]"
    process: "subprocess.Popen[bytes]"

    @property
    def folder(self) -> Path:
        """Folder of the question and of its answer."""
        return Path(self.kept.name)

    def go(self) -> None:
        """Say that the question is in the folder."""
        assert self.process.stdin is not None
        with contextlib.suppress(BrokenPipeError):  # it has ended; who follows it finds out
            self.process.stdin.write(GO)
            self.process.stdin.flush()

    def end(self) -> None:
        """Close the pipe by which it knows that the server is there, wait for its end, remove the folder."""
        self.process.communicate()
        self.kept.cleanup()


def started(ahead: bool = False) -> Started:
    """Start a worker; ahead of its question it loads what most of them need."""
    kept = tempfile.TemporaryDirectory(prefix="cisterntwin-")
    paths = [str(ROOT), os.environ.get("PYTHONPATH", "")]
    with (Path(kept.name) / LOG).open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "dashboard.jobs.worker", kept.name, *([AHEAD] if ahead else [])],
            stdin=subprocess.PIPE, stdout=log, stderr=log, start_new_session=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
        )  # fmt: skip
    return Started(kept, process)


class Ready:
    """Keeps one worker waiting, once that was asked for."""

    def __init__(self) -> None:
        """Begin with none."""
        self._lock = threading.Lock()
        self._waiting: Started | None = None
        self._wanted = False

    def begin(self) -> None:
        """Keep one waiting from now on."""
        self._wanted = True
        self._fill()

    @contextmanager
    def worker(self) -> Iterator[Started]:
        """Give out the one that waits, or a new one; the next is started when its work is done."""
        with self._lock:
            found, self._waiting = self._waiting, None
        if found is not None and found.process.poll() is not None:
            found.end()
            found = None
        found = found or started()
        try:
            yield found
        finally:
            found.end()
            self._fill()

    def end(self) -> None:
        """Let the one that waits go."""
        self._wanted = False
        with self._lock:
            found, self._waiting = self._waiting, None
        if found is not None:
            found.end()

    def _fill(self) -> None:
        with self._lock:
            if self._wanted and self._waiting is None:
                self._waiting = started(ahead=True)


READY = Ready()
