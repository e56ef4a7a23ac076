"""The command line: reads arguments, calls a command, turns errors into one line and an exit code.

Exit codes: 0 done, 1 our fault, 2 the input's fault, 130 interrupted (what was finished is kept and shown).
Commands that load physics are imported only when called, so that `--help` answers at once.
"""

import argparse
import io
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

from sim import __version__
from sim.commands.dashboard import APP
from sim.errors import InputError, Interrupted, TwinError

DONE, OUR_FAULT, INPUT_FAULT, INTERRUPTED = 0, 1, 2, 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command."""
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
    command: Callable[[argparse.Namespace], int] = getattr(import_module(f"sim.commands.{name}"), name)
    return command


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> "None":  # type: ignore[override]
        self.exit(INPUT_FAULT, f"cisterntwin: {_one_line(message)}\n")


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    top = _Parser(prog="cisterntwin", description="Compare ways of looking after a house on rainwater.")
    top.add_argument("--version", action="version", version=f"cisterntwin {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_compare(commands.add_parser("compare", help="compare policies: a table, a report and the rows"))
    _add_run(commands.add_parser("run", help="run one policy once and write its history"))
    _add_skip(commands.add_parser("skip", help="show what leaving tasks undone leads to, month by month"))
    _add_visits(commands.add_parser("visits", help="write a year's service calendar and sheets to print"))
    _add_check(commands.add_parser("check", help="check a site: its design figures and warnings"))
    _add_size(commands.add_parser("size", help="find the sizes that cost least within the limits"))
    _add_tune(commands.add_parser("tune", help="find the intervals that cost least within the limits"))
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


def _add_units(command: argparse.ArgumentParser) -> None:
    command.add_argument("--units", choices=("us", "si"), default="us", help="units shown (default: us)")


def _add_rain(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--rain", type=Path, metavar="FILE", help="CSV of daily rain, in place of the site's own"
    )


def _add_out(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--out", type=Path, default=Path("out"), metavar="DIR", help="output folder (default: out)"
    )


def _add_runs(command: argparse.ArgumentParser, years: int) -> None:
    _add_site(command)
    _add_rain(command)
    command.add_argument(
        "--draws", type=Path, metavar="FILE", help="CSV of metered draws, in place of the household"
    )
    command.add_argument(
        "--years", type=int, default=years, metavar="N", help=f"length of a run (default: {years})"
    )
    command.add_argument("--seed", type=int, default=1, metavar="N", help="root of all chance (default: 1)")
    _add_out(command)


def _add_replications(command: argparse.ArgumentParser, words: str, default: int) -> None:
    command.add_argument(
        "--replications", type=int, default=default, metavar="N", help=f"{words} (default: {default})"
    )
    command.add_argument(
        "--workers", type=int, default=min(2, os.cpu_count() or 1), metavar="N",
        help="processes (default: %(default)s); the rows are the same for any number",
    )  # fmt: skip


def _add_scheduler(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--scheduler", metavar="ADDRESS", help="dask cluster that does the work, as tcp://HOST:PORT"
    )


def _add_policy(command: argparse.ArgumentParser) -> None:
    command.add_argument("--policy", metavar="NAME", help="a policy of the site (default: the first)")


def _add_policies(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--policy", action="append", metavar="NAME",
        help="a policy of the site; may be given again (default: all)",
    )  # fmt: skip


def _add_compare(command: argparse.ArgumentParser) -> None:
    _add_runs(command, 5)
    _add_units(command)
    _add_policies(command)
    command.add_argument(
        "--reference", metavar="NAME", help="policy the others are held against (default: the first)"
    )
    _add_replications(command, "runs of each policy", 40)
    _add_scheduler(command)
    command.add_argument(
        "--within", type=float, metavar="MONEY", help="stop once cost differences a year are known to this ±"
    )
    command.add_argument(
        "--uncertain", type=int, metavar="N", help="also draw what nobody measured N times over its ranges"
    )
    command.add_argument(
        "--each", type=int, metavar="N", help="runs of each policy at such a draw (default: 4)"
    )
    command.add_argument(
        "--known", action="append", default=[], metavar="KEY",
        help="an input that was measured here, so is not drawn; may be given again",
    )  # fmt: skip


def _add_run(command: argparse.ArgumentParser) -> None:
    _add_runs(command, 5)
    _add_policy(command)
    command.add_argument("--replication", type=int, default=0, metavar="N", help="which run (default: 0)")


def _add_skip(command: argparse.ArgumentParser) -> None:
    _add_runs(command, 3)
    _add_units(command)
    _add_policy(command)
    command.add_argument(
        "--task", action="append", metavar="NAME",
        help='a task nobody does, such as "wipe sleeve" or "change cartridge: carbon"; may be given again '
        "(default: everything)",
    )  # fmt: skip
    command.add_argument(
        "--from", dest="start", nargs="+", default=["month", "1"], metavar="WHEN",
        help='start: month 3, a date, or a time such as "90 d" (default: month 1)',
    )  # fmt: skip
    command.add_argument(
        "--until", nargs="+", metavar="WHEN", help="end, written likewise (default: the end of the run)"
    )
    command.add_argument("--replication", type=int, default=0, metavar="N", help="the run told (default: 0)")
    _add_replications(command, "runs of each, for how often", 10)


def _add_visits(command: argparse.ArgumentParser) -> None:
    _add_site(command)
    _add_units(command)
    _add_policy(command)
    command.add_argument("--from", dest="start", metavar="DATE", help="first day (default: today)")
    command.add_argument(
        "--done", action="append", metavar="TASK=DATE",
        help='when a task was last done, such as "wipe sleeve=2026-11-20"; may be given again '
        "(default: on the first day)",
    )  # fmt: skip
    command.add_argument(
        "--together", type=int, default=7, metavar="DAYS",
        help="what falls due so soon is done with (default: 7)",
    )  # fmt: skip
    command.add_argument(
        "--zone", metavar="NAME", help="time zone of the hours, such as Europe/Vienna (default: local time)"
    )
    _add_out(command)


def _add_search(command: argparse.ArgumentParser) -> None:
    _add_runs(command, 5)
    _add_units(command)
    command.add_argument(
        "--worth", type=float, default=25.0, metavar="MONEY",
        help="least difference a year that matters (default: 25)",
    )  # fmt: skip
    _add_replications(command, "runs at the last look", 20)
    _add_scheduler(command)


def _add_size(command: argparse.ArgumentParser) -> None:
    _add_search(command)
    command.add_argument(
        "--try", action="append", dest="tries", metavar="KEY=VALUE,VALUE",
        help="values to choose between; may be given again (default: [[alternative]] of the site)",
    )  # fmt: skip
    _add_policies(command)
    command.add_argument("--full", action="store_true", help="give every design every replication")


def _add_tune(command: argparse.ArgumentParser) -> None:
    _add_search(command)
    _add_policy(command)
    command.add_argument(
        "--limit-days", type=float, metavar="DAYS",
        help="limit of days below the dose target (default: the site's)",
    )  # fmt: skip
    command.add_argument(
        "--only", action="append", metavar="NAME",
        help="what is turned, such as 'wipe sleeve and window'; may be given again (default: all)",
    )  # fmt: skip


def _add_check(command: argparse.ArgumentParser) -> None:
    _add_site(command)
    _add_units(command)
    _add_rain(command)


if __name__ == "__main__":
    sys.exit(main())
