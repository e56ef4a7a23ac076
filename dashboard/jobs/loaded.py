"""One process that has loaded what questions need; each worker is a copy of it, made in an instant.

`python -m dashboard.jobs.loaded` reads what it is told from its input, a line each: a folder and a signal. At
first it makes a worker for the folder, later it passes the signal on. When a worker has ended, its exit code
is written to its folder. When the input closes, as it does when the server ends, however that ends, so do the
workers. It has one thread: a copy made while another thread holds a lock would wait for it for ever.
"""

import gc
import json
import os
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import traceback
from importlib import import_module
from pathlib import Path

from dashboard.jobs.worker import ENVIRONMENT, LOG, main, write
from sim.pool import copy_this_process
from sim.study.questions import KINDS

NICENESS = 5  # the pages come first, but on a busy machine an answer still comes
COPIES = sys.platform == "linux"  # elsewhere a copy can break what the system keeps in threads of its own
ENDED, PROCESS = "ended", "process"  # in the folder of a worker: its exit code, its number
MODULES = ("sim.report.reports", *(module for module, _ in KINDS.values()))


def load_ahead() -> None:
    """Load what most questions need, compiled code included: a policy of the demo through a year."""
    from sim.scenario.read.load import DEMO, load  # noqa: PLC0415  where there are no copies, nothing is loaded
    from sim.study.runs.batch import Job, Unit, run_batch  # noqa: PLC0415

    import_module(KINDS["compare"][0])
    demo = load(DEMO)
    run_batch(Job(((demo, demo.policies[:1], 0),), 1, None, None), (Unit(0, (0,), 0),))


def serve() -> None:
    """Make workers and watch over them until the input closes."""
    woken, wake = os.pipe()
    os.set_blocking(wake, False)
    signal.signal(signal.SIGCHLD, lambda *_: None)  # only so that it wakes
    signal.set_wakeup_fd(wake)
    workers: dict[int, Path] = {}
    more, told = list(MODULES) if COPIES else [], b""
    while True:
        heard, _, _ = select.select([0, woken], [], [], 0.0 if more else None)
        if not heard:
            import_module(more.pop())
            gc.freeze()  # else the first collection of a worker copies all of it
        if woken in heard:
            os.read(woken, 4096)
            _bury(workers)
        if 0 in heard:
            read = os.read(0, 4096)
            if not read:
                break
            *lines, told = (told + read).split(b"\n")
            for line in lines:
                _do(workers, *json.loads(line))
    for pid, folder in workers.items():
        os.killpg(pid, signal.SIGKILL)  # the group is the worker's own, with the processes it started
        os.waitpid(pid, 0)
        shutil.rmtree(folder, ignore_errors=True)  # nobody is left who would


def _do(workers: dict[int, Path], name: str, sign: int) -> None:
    folder = Path(name)
    if not sign:
        pid = _copied(folder) if COPIES else _begun(folder)
        workers[pid] = folder
        write(folder / PROCESS, str(pid).encode())
        return
    for pid in (pid for pid, one in workers.items() if one == folder):
        (os.killpg if sign == signal.SIGKILL else os.kill)(pid, sign)


def _bury(workers: dict[int, Path]) -> None:
    """Write down the exit code of each worker that has ended."""
    for pid, folder in list(workers.items()):
        gone, status = os.waitpid(pid, os.WNOHANG)
        if gone:
            del workers[pid]
            write(folder / ENDED, str(os.waitstatus_to_exitcode(status)).encode())


def _copied(folder: Path) -> int:
    """Return the process of a worker, a copy of this one; the copy does its work and ends here."""
    pid = os.fork()
    if pid:
        os.setpgid(pid, pid)  # here too: nobody may signal its group before it is there
        return pid
    code = 1
    try:
        _apart(folder)
        code = main(folder)
    except BaseException:  # an interrupt too
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _apart(folder: Path) -> None:
    """Let a copy have its own group, words and signals; processes it needs are copies in their turn."""
    os.setpgid(0, 0)
    signal.set_wakeup_fd(-1)
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a server in the background ignores it
    with (folder / LOG).open("wb") as log, Path(os.devnull).open("rb") as nothing:
        os.dup2(nothing.fileno(), 0)
        os.dup2(log.fileno(), 1)
        os.dup2(log.fileno(), 2)
    os.environ.clear()
    os.environ.update(json.loads((folder / ENVIRONMENT).read_bytes()))
    tempfile.tempdir = None  # where to is said there
    copy_this_process()


def _begun(folder: Path) -> int:
    """Return the process of a worker that is started anew."""
    with (folder / LOG).open("wb") as log:
        return subprocess.Popen(
            [sys.executable, "-m", "dashboard.jobs.worker", str(folder)],
            stdin=subprocess.DEVNULL, stdout=log, stderr=log, process_group=0,
            env=json.loads((folder / ENVIRONMENT).read_bytes()),
        ).pid  # fmt: skip


if __name__ == "__main__":
    os.nice(NICENESS)
    if COPIES:
        load_ahead()
    serve()
