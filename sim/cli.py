"""The command line: reads arguments, calls a command, turns errors into one line and an exit code.

Exit codes: 0 done, 1 our fault, 2 the input's fault, 130 interrupted (what was finished is kept and shown).
Commands that load physics are imported only when called, so that `--help` answers at once.
"""

import argparse
import io
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from sim import __version__
from sim.commands.dashboard import APP, dashboard
from sim.errors import InputError, Interrupted, TwinError

DONE, OUR_FAULT, INPUT_FAULT, INTERRUPTED = 0, 1, 2, 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the name of the command; those of the process when absent.

    Returns
    -------
    int
        Exit code.
    """
    _show_what_cannot_be_encoded()
    options = parser().parse_args(arguments)
    try:
        return int(_command(options.command)(options))
    except InputError as error:
        return _say(str(error), INPUT_FAULT)
    except Interrupted as error:
        return _say(str(error), INTERRUPTED)
    except KeyboardInterrupt:
        return _say("interrupted", INTERRUPTED)
    except TwinError as error:
        return _say(f"fault in this program, please report it: {error}", OUR_FAULT)
    except BrokenPipeError:
        # The reader of our output left (such as `| head`); keep the interpreter from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def _say(message: str, code: int) -> int:
    print(f"cisterntwin: {_one_line(message)}", file=sys.stderr)
    return code


def _one_line(message: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in message).split())


def _show_what_cannot_be_encoded() -> None:
    """Show what the screen's encoding does not have by its code rather than end the program."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    # Imported here, one by one: physics and tables take seconds to load, and help needs neither.
    if name == "compare":
        from sim.commands.compare import compare  # noqa: PLC0415

        return compare
    if name == "run":
        from sim.commands.run import run  # noqa: PLC0415

        return run
    if name == "check":
        from sim.commands.check import check  # noqa: PLC0415

        return check
    return dashboard


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> "None":  # type: ignore[override]
        self.exit(INPUT_FAULT, f"cisterntwin: {_one_line(message)}\n")


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands.

    Returns
    -------
    ArgumentParser
        With one subcommand for each job.
    """
    top = _Parser(prog="cisterntwin", description="Compare ways of looking after a house on rainwater.")
    top.add_argument("--version", action="version", version=f"cisterntwin {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_compare(commands.add_parser("compare", help="compare policies: a table, a report and the rows"))
    _add_run(commands.add_parser("run", help="run one policy once and write its history"))
    _add_check(commands.add_parser("check", help="check a site: its design figures and warnings"))
    if APP.exists():
        _add_dashboard(commands.add_parser("dashboard", help="open the pages in a browser on this machine"))
    return top


def _add_dashboard(command: argparse.ArgumentParser) -> None:
    command.add_argument("--address", default="127.0.0.1", help="this machine only (default: 127.0.0.1)")
    command.add_argument("--port", type=int, default=8501, help="port to listen on (default: 8501)")


def _add_site(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "site", nargs="?", metavar="SITE", help="site file or built-in name (default: the demo)"
    )
    command.add_argument("--units", choices=("us", "si"), default="us", help="units shown (default: us)")
    command.add_argument(
        "--rain", type=Path, metavar="FILE", help="CSV of daily rain, in place of the site's own"
    )


def _add_runs(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--draws", type=Path, metavar="FILE", help="CSV of metered draws, in place of the household"
    )
    command.add_argument("--years", type=int, default=5, metavar="N", help="length of a run (default: 5)")
    command.add_argument("--seed", type=int, default=1, metavar="N", help="root of all chance (default: 1)")
    command.add_argument(
        "--out", type=Path, default=Path("out"), metavar="DIR", help="output folder (default: out)"
    )


def _add_compare(command: argparse.ArgumentParser) -> None:
    _add_site(command)
    _add_runs(command)
    command.add_argument(
        "--policy",
        action="append",
        metavar="NAME",
        help="a policy of the site; may be given again (default: all)",
    )
    command.add_argument(
        "--reference", metavar="NAME", help="policy the others are held against (default: the first)"
    )
    command.add_argument(
        "--replications", type=int, default=40, metavar="N", help="runs of each policy (default: 40)"
    )
    command.add_argument(
        "--within", type=float, metavar="MONEY", help="stop once cost differences a year are known to this ±"
    )
    command.add_argument(
        "--workers",
        type=int,
        default=min(2, os.cpu_count() or 1),
        metavar="N",
        help="processes (default: %(default)s); the rows are the same for any number",
    )


def _add_run(command: argparse.ArgumentParser) -> None:
    _add_site(command)
    _add_runs(command)
    command.add_argument("--policy", metavar="NAME", help="a policy of the site (default: the first)")
    command.add_argument("--replication", type=int, default=0, metavar="N", help="which run (default: 0)")


def _add_check(command: argparse.ArgumentParser) -> None:
    _add_site(command)


if __name__ == "__main__":
    sys.exit(main())
