"""`dashboard`: open the pages in a browser, on this machine only."""

import argparse
import subprocess
import sys
from pathlib import Path

APP = Path(__file__).parents[2] / "dashboard" / "app.py"


def dashboard(options: argparse.Namespace) -> int:
    """Serve the dashboard on the loopback address until stopped.

    Parameters
    ----------
    options : Namespace
        Not read; every command takes it.

    Returns
    -------
    int
        Exit code of the server.
    """
    del options
    command = [sys.executable, "-m", "streamlit", "run", str(APP), "--server.address", "127.0.0.1"]
    return subprocess.call(command, cwd=APP.parent)
