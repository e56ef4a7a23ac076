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
from typing import Any

from sim import __version__
from sim.commands.dashboard import APP
from sim.errors import InputError, Interrupted, TwinError

Option = tuple[tuple[str, ...], dict[str, Any]]  # its names, and the rest of what argparse asks
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


def _option(*names: str, **settings: Any) -> Option:
    return names, settings


def _count(name: str, words: str, default: int, metavar: str = "N") -> Option:
    """Return an option that takes a whole number."""
    return _option(name, type=int, default=default, metavar=metavar, help=f"{words} (default: %(default)s)")


def _runs(years: int) -> list[Option]:
    """Return what commands take that run a house."""
    draws = "CSV of metered draws, in place of the household"
    return [
        SITE, RAIN, ONE_YEAR, _option("--draws", type=Path, metavar="FILE", help=draws),
        _count("--years", "length of a run", years), _count("--seed", "random seed", 1), OUT,
    ]  # fmt: skip


def _many(words: str, replications: int | None) -> list[Option]:
    """Return what commands take that run it many times; None for as many as it takes."""
    workers = "processes (default: %(default)s); the rows are the same for any number"
    return [
        _count("--replications", words, replications) if replications else _AS_IT_TAKES,
        _option("--workers", type=int, default=min(2, os.cpu_count() or 1), metavar="N", help=workers),
    ]


_AS_IT_TAKES = _option(
    "--replications", type=int, metavar="N", help="runs of each policy (default: until settled, 80 at most)"
)
SITE = _option("site", nargs="?", metavar="SITE", help="site file or built-in name (default: the demo)")
RAIN = _option("--rain", type=Path, metavar="FILE", help="CSV of daily rain, in place of the site's own")
ONE_YEAR = _option(
    "--one-rain-year", action="store_true", help="take a rain record of one year, over and over"
)
RECORDS = """
A rain FILE has the columns date and precipitation, in mm, every day once and in order; other names, units
and formats of dates are set under [rain] of the site. Whole calendar years are drawn, mostly one after the
other as recorded: give twenty or more.

A FILE of draws has the columns start; use, or a flow (flow_gpm, flow_l_min) with its pressure (at_psi,
at_kpa); and duration_s or a volume (volume_gal, volume_l).
"""
UNITS = _option("--units", choices=("us", "si"), default="us", help="units shown (default: us)")
OUT = _option("--out", type=Path, default=Path("out"), metavar="DIR", help="output folder (default: out)")
DIARY = _option(
    "--diary", type=Path, metavar="DIR", help="folder of the diary (default: SITE_diary beside the site)"
)
POLICY = _option("--policy", metavar="NAME", help="a policy of the site (default: the first)")
POLICIES = _option(
    "--policy", action="append", metavar="NAME",
    help="a policy of the site; may be given again (default: all)",
)  # fmt: skip
SCHEDULER = _option(
    "--scheduler", metavar="ADDRESS", help="dask cluster that does the work, as tcp://HOST:PORT"
)
SEARCH = [
    *_runs(5), UNITS, *_many("runs at the last look", 20), SCHEDULER,
    _option(
        "--worth", type=float, default=25.0, metavar="MONEY",
        help="least difference a year that matters (default: 25)",
    ),
]  # fmt: skip
COMMANDS: dict[str, tuple[str, list[Option]]] = {  # what it does, and the options it uses: no others
    "compare": ("compare policies: a table, a report and the rows", [
        *_runs(5), UNITS, POLICIES, *_many("runs of each policy", None), SCHEDULER,
        _option("--reference", metavar="NAME",
                help="policy the others are compared with (default: the first)"),
        _option("--within", type=float, metavar="MONEY",
                help="stop once cost differences a year are known to this ±"),
        _option("--uncertain", type=int, metavar="N",
                help="also draw what nobody measured N times over its ranges"),
        _option("--each", type=int, metavar="N", help="runs of each policy at such a draw (default: 4)"),
        _option("--known", action="append", default=[], metavar="KEY",
                help="an input that was measured here, so is not drawn; may be given again"),
    ]),
    "run": ("run one policy once and write its history", [
        *_runs(5), POLICY, _count("--replication", "which run", 0),
    ]),
    "skip": ("show what leaving tasks undone leads to, month by month", [
        *_runs(3), UNITS, POLICY, *_many("runs of each, for how often", 10),
        _option("--task", action="append", metavar="NAME",
                help='a task nobody does, such as "wipe sleeve" or "change cartridge: carbon"; may be given '
                "again (default: everything)"),
        _option("--from", dest="start", nargs="+", default=["month", "1"], metavar="WHEN",
                help='start: month 3, a date, or a time such as "90 d" (default: month 1)'),
        _option("--until", nargs="+", metavar="WHEN",
                help="end, written likewise (default: the end of the run)"),
        _count("--replication", "the run told", 0),
    ]),
    "today": ("say how a house stands by its diary, and what to do by when", [
        SITE, RAIN, ONE_YEAR, UNITS, DIARY,
        _option("--sign", metavar="WORDS",
                help='say what to check first: "low uv", "weak taps", "no water" or "pump starts often"'),
        _option("--on", metavar="DATE", help="the day asked about (default: today)"),
        _option("--away", action="append", metavar="'FIRST to LAST'",
                help="an absence to come, by its dates; may be given again"),
        _option("--workers", type=int, default=min(2, os.cpu_count() or 1), metavar="N",
                help="processes (default: %(default)s)"),
        _option("--json", action="store_true", help="print the answer for a machine"),
    ]),
    "visits": ("write a year's service calendar and sheets to print", [
        SITE, UNITS, POLICY, OUT, DIARY,
        _option("--from", dest="start", metavar="DATE", help="first day (default: today)"),
        _option("--done", action="append", metavar="TASK=DATE",
                help='when a task was last done, such as "wipe sleeve=2026-11-20"; may be given again '
                "(default: as the diary notes it, else on the first day)"),
        _count("--together", "what falls due so soon is done with", 7, "DAYS"),
        _option("--clean", metavar="READING@HOURS",
                help="UV reading right after the last full cleaning, and lamp hours then, such as 92@3000"),
        _option("--zone", metavar="NAME",
                help="time zone of the hours, such as Europe/Vienna (default: local time)"),
    ]),
    "check": ("check a site: its design figures and warnings", [
        SITE, UNITS, RAIN, ONE_YEAR,
        _option("--draws", type=Path, metavar="FILE", help="CSV of metered draws, compared with the house"),
    ]),
    "readings": ("add to the diary of a house: readings, and what was done", [
        _option("action", choices=("add", "done", "list"), help="add a reading, note a task, list all lines"),
        SITE,
        _option("words", nargs="*", metavar="WORDS",
                help='such as UV 71 %%, drop over sediment 9 psi, or "change cartridge: carbon"'),
        _option("--from", dest="source", type=Path, metavar="FILE",
                help="CSV of readings or acts, a logger's export, or a sensor service's JSON"),
        _option("--at", metavar="TIME", help="when, such as 2027-05-14 or 2027-05-14T07:30 (default: now)"),
        _option("--how", metavar="WORDS", help='how a drop was read, such as "at 5 gpm" or "two gauges"'),
        _option("--who", metavar="NAME", help="who did a task"),
        _option("--note", metavar="WORDS", help="anything else"),
        _option("--sure", action="store_true", help="stand by a reading that looks odd"),
        _option("--replaces", metavar="MARK",
                help="the line this one corrects; with nothing else, it is taken back"),
        _option("--observed", metavar="WORDS",
                help="what a sensor service's JSON is of, where it does not say"),
        _option("--unit", metavar="UNIT", help="its unit, or that of a reading"),
        DIARY,
    ]),
    "size": ("find the sizes that cost least within the limits", [
        *SEARCH, POLICIES,
        _option("--try", action="append", dest="tries", metavar="KEY=VALUE,VALUE",
                help="values to choose between; may be given again (default: [[alternative]] of the site)"),
        _option("--full", action="store_true", help="give every design every replication"),
    ]),
    "tune": ("find the intervals that cost least within the limits", [
        *SEARCH, POLICY,
        _option("--limit-days", type=float, metavar="DAYS",
                help="limit of days below the dose target (default: the site's)"),
        _option("--only", action="append", metavar="NAME",
                help="what is turned, such as 'wipe sleeve and window'; may be given again (default: all)"),
    ]),
    "schema": ("print what a site file may say, as JSON Schema", []),
    "dashboard": ("open the pages in a browser on this machine", [
        _option("--address", default="127.0.0.1", help="this machine only (default: 127.0.0.1)"),
        _count("--port", "port to listen on", 8501, "PORT"),
    ]),
}  # fmt: skip


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    top = _Parser(prog="cisterntwin", description="Compare ways of looking after a house on rainwater.")
    top.add_argument("--version", action="version", version=f"cisterntwin {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (words, options) in COMMANDS.items():
        if name == "dashboard" and not APP.exists():
            continue
        command = commands.add_parser(
            name, help=words, epilog=RECORDS if RAIN in options else None,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )  # fmt: skip
        for names, settings in options:
            command.add_argument(*names, **settings)
    return top


if __name__ == "__main__":
    sys.exit(main())
