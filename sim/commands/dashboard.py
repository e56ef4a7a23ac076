"""`dashboard`: open the pages in a browser, on this machine only."""

import argparse
import os
import subprocess
import sys
from pathlib import Path

from sim.disk import DIARIES, cache
from sim.errors import InputError

APP = Path(__file__).parents[2] / "dashboard" / "server.py"
LOOPBACK = ("127.0.0.1", "localhost")


def dashboard(options: argparse.Namespace) -> int:
    """Serve the dashboard on the loopback address until stopped."""
    command = server_command(options.address, options.port)
    cache("answers")  # refused here, in words, when others could have written to it
    # The server starts in the folder of its configuration; the packages must be found from there too.
    paths = [str(APP.parents[1]), os.environ.get("PYTHONPATH", "")]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, paths))}
    environment.setdefault(DIARIES, str(Path.cwd()))
    print(f"The dashboard opens at http://{options.address}:{options.port} (stop with Ctrl+C)", flush=True)
    if os.name == "posix":  # become the server, so that whoever stops this stops it
        os.chdir(APP.parent)
        os.execve(command[0], command, environment)
    return subprocess.call(command, cwd=APP.parent, env=environment)


def server_command(address: str, port: int) -> list[str]:
    """Return the command that serves the pages; flags outrank what the environment says.

    Refused when the address is not of this machine alone: the pages have no log-in.
    """
    if address not in LOOPBACK:
        raise InputError(
            f"address is {address!r}; wanted {' or '.join(LOOPBACK)}: the dashboard has no log-in "
            "and is for this machine only"
        )
    if not 1 <= port <= 65535:
        raise InputError(f"port is {port}; wanted 1 to 65535")
    flags = {
        "server.address": address,
        "server.port": str(port),
        "server.headless": "true",
        "server.enableCORS": "true",
        "server.enableXsrfProtection": "true",
        "server.fileWatcherType": "none",
        "browser.gatherUsageStats": "false",
        # To collect all that is loaded after each run of a page took half its time; Python still collects.
        "runner.postScriptGC": "false",
    }
    command = [sys.executable, "-m", "streamlit", "run", str(APP)]
    for name, value in flags.items():
        command += [f"--{name}", value]
    return command
