"""Workers as the server asks for them, of the process that has their code loaded."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dashboard.jobs.loaded import ENDED, PROCESS
from dashboard.jobs.worker import ENVIRONMENT
from sim.study.runs.workers import one_thread_each

ROOT = Path(__file__).parents[2]


class Worker:
    """One worker, and the folder through which it is asked."""

    def __init__(self, folder: Path, loaded: "Loaded") -> None:
        """Stand for a worker that is asked nothing yet."""
        self.folder, self._loaded = folder, loaded
        # What a worker keeps for a while lies in its folder too, and goes with it if it is killed.
        (folder / ENVIRONMENT).write_text(json.dumps(os.environ | {"TMPDIR": str(folder)}))

    def go(self) -> None:
        """Say that the question is in the folder."""
        self._loaded.tell(self.folder, 0)

    def wait(self, wait_s: float) -> int | None:
        """Wait a time at most; return the exit code, None while it is at work."""
        time.sleep(wait_s)
        if (self.folder / ENDED).exists():
            return int((self.folder / ENDED).read_bytes())
        if self._loaded.runs:
            return None
        self.kill()
        return -signal.SIGKILL

    def interrupt(self) -> None:
        """Have it finish and keep what is under way."""
        self._loaded.tell(self.folder, signal.SIGINT)

    def kill(self) -> None:
        """End it, with the processes it started; also where nobody is left to pass that on."""
        self._loaded.tell(self.folder, signal.SIGKILL)
        if not self._loaded.runs and (self.folder / PROCESS).exists():
            with contextlib.suppress(ProcessLookupError):
                os.killpg(int((self.folder / PROCESS).read_bytes()), signal.SIGKILL)


class Loaded:
    """The process that has the code loaded; it knows by its input that this one is there."""

    def __init__(self) -> None:
        """Start it; what it is told meanwhile waits."""
        paths = [str(ROOT), os.environ.get("PYTHONPATH", "")]
        self._lock = threading.Lock()
        with one_thread_each():
            self.process = subprocess.Popen(
                [sys.executable, "-m", "dashboard.jobs.loaded"],
                stdin=subprocess.PIPE, start_new_session=True,
                env=os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))},
            )  # fmt: skip

    @property
    def runs(self) -> bool:
        """Whether it is there."""
        return self.process.poll() is None

    def tell(self, folder: Path, sign: int) -> None:
        """Tell it a line."""
        assert self.process.stdin is not None
        line = json.dumps([str(folder), sign]).encode() + b"\n"
        with self._lock, contextlib.suppress(BrokenPipeError):  # it has ended; who follows a worker finds out
            self.process.stdin.write(line)
            self.process.stdin.flush()

    def end(self) -> None:
        """Close its input, and wait for its end."""
        self.process.communicate()


class Ready:
    """Keeps one loaded process from the first worker on."""

    def __init__(self) -> None:
        """Begin with none."""
        self._lock = threading.Lock()
        self._loaded: Loaded | None = None

    def begin(self) -> Loaded:
        """Return the process that has the code loaded, a new one where it has ended."""
        with self._lock:
            if self._loaded is not None and not self._loaded.runs:
                self._loaded.end()
                self._loaded = None
            self._loaded = self._loaded or Loaded()
            return self._loaded

    @contextmanager
    def worker(self) -> Iterator[Worker]:
        """Give out a worker; its folder is removed afterwards."""
        with tempfile.TemporaryDirectory(prefix="cisterntwin-") as kept:
            yield Worker(Path(kept), self.begin())

    def end(self) -> None:
        """Let the process go, and all workers with it."""
        with self._lock:
            found, self._loaded = self._loaded, None
        if found is not None:
            found.end()


READY = Ready()
