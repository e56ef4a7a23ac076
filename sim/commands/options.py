"""The commands, what each does, and the options it takes."""

import argparse
import os
import textwrap
from pathlib import Path
from typing import Any

from sim.scenario.quotation_keys import KEYS

Option = tuple[tuple[str, ...], dict[str, Any]]  # its names, and the rest of what argparse asks


def word(text: str) -> str:
    """Return a word that was given; an empty one would stand for the default."""
    if not text.strip():
        raise argparse.ArgumentTypeError("is empty; wanted a value, or no such argument")
    return text


def _file(text: str) -> Path:
    return Path(word(text))


def _option(*names: str, **settings: Any) -> Option:
    return names, settings


def _count(name: str, words: str, default: int, metavar: str = "N") -> Option:
    """Return an option that takes a whole number."""
    return _option(name, type=int, default=default, metavar=metavar, help=f"{words} (default: %(default)s)")


def _runs(years: int, site: Option | None = None) -> list[Option]:
    """Return what commands take that run a house."""
    draws = "CSV of metered draws, in place of the household"
    again = "take metered draws over and over where they do not cover the run"
    return [
        site or SITE, RAIN, ONE_YEAR, _option("--draws", type=_file, metavar="FILE", help=draws),
        _option("--draws-repeat", action="store_true", help=again),
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
SITES = _option(
    "site",
    nargs="*",
    metavar="SITE",
    help="as SITE; of several each is compared, a row a site (default: the demo)",
)
RAIN = _option("--rain", type=_file, metavar="FILE", help="CSV of daily rain, in place of the site's own")
NOT_YET = """
Not simulated yet, and refused where a site says so: chlorine dosing, ozone. Nor a header tank that a pump
fills, the chlorine of mains behind the rain, pumps that take turns or fail together, UV units that differ.
"""
ONE_YEAR = _option(
    "--one-rain-year", action="store_true", help="take a rain record of one year, over and over"
)
RECORDS = """
A rain FILE has the columns date and precipitation, in mm, every day once and in order. Other names, units
and formats of dates are set under [rain] of the site, and how it marks a missing day (missing = "-9999", or
"" for a blank or no line): the year of such a day is left out. Whole calendar years are drawn, mostly one
after the other as recorded: give twenty or more.

A FILE of draws has the columns start; use, or a flow (flow_gpm, flow_l_min) with its pressure (at_psi,
at_kpa); and duration_s or a volume (volume_gal, volume_l).
"""
QUOTES = """
A quotes FILE, CSV or TOML, has a row an item (in TOML an [[item]]): item (its name; in TOML name), part,
stage (of a cartridge: the one it is for), price, currency (that of the site), date (as 2026-11-20) and life,
if it is known (as "12 yr"). Then what its sheet says, with units, by the keys of the site's file:
SAID
Clean drops are "5 gpm at 0.6 psi; 10 gpm at 1.6 psi", a curve "0 gpm at 180 ft; 10 gpm at 140 ft", or more
points. Leave blank what a sheet does not say: the criteria that hang on it are then not known.
""".replace(
    "SAID", "\n".join(textwrap.fill(f"  {part}: {', '.join(keys)}", 106, subsequent_indent="    ")
                      for part, keys in KEYS.items()),
)  # fmt: skip
UNITS = _option("--units", choices=("us", "si"), default="us", help="units shown (default: us)")
OUT = _option("--out", type=_file, default=Path("out"), metavar="DIR", help="output folder (default: out)")
DIARY = _option(
    "--diary", type=_file, metavar="DIR", help="folder of the diary (default: SITE_diary beside the site)"
)
POLICY = _option("--policy", metavar="NAME", help="a policy of the site (default: the first)")
POLICIES = _option(
    "--policy", action="append", metavar="NAME",
    help="a policy of the site; may be given again (default: all)",
)  # fmt: skip
SCHEDULER = _option(
    "--scheduler",
    metavar="ADDRESS",
    help="dask cluster that does the work, as tcp://HOST:PORT; whoever can reach it or its network can run "
    "code on it and here: trust both, or use tls://HOST:PORT with the TLS settings of dask's configuration",
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
        *_runs(5, SITES), UNITS, POLICIES, *_many("runs of each policy", None), SCHEDULER,
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
    "drill": ("play a hidden fault by its gauges, then see what was true", [
        SITE, _count("--seed", "random seed", 1), UNITS, OUT,
        _option("--fault", metavar="NAME", help="the fault staged (default: drawn unseen by the seed)"),
        _option("--case", type=_file, metavar="FILE",
                help="a case to play; one that holds moves is played again, to the same bytes"),
        _option("--sheets", action="store_true", help="write a blank sheet for a class, and the key"),
        _option("--results", type=_file, nargs="+", metavar="FILE",
                help="say how a class stands by the rows of its result.csv files, and play nothing"),
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
    "check": ("hold a design against its criteria (exit code 3 when one fails)", [
        SITE, UNITS, RAIN, ONE_YEAR,
        _option("--draws", type=_file, metavar="FILE", help="CSV of metered draws, compared with the house"),
        _option("--json", action="store_true", help="print the answer for a machine"),
    ]),
    "sheet": ("write the design sheet: a few pages to print and to sign", [
        SITE, RAIN, ONE_YEAR, UNITS, POLICY, OUT, _count("--years", "length of a run", 5),
        _count("--seed", "random seed", 1), *_many("runs of each policy", 20),
        _option("--from", dest="start", metavar="DATE", help="first day of the year (default: today)"),
        _option("--revision", default="draft", metavar="WORD", help="mark of this revision (default: draft)"),
    ]),
    "readings": ("add to the diary of a house: readings, and what was done", [
        _option("action", choices=("add", "done", "list"), help="add a reading, note a task, list all lines"),
        SITE,
        _option("words", nargs="*", metavar="WORDS",
                help='such as UV 71 %%, drop over sediment 9 psi, or "change cartridge: carbon"'),
        _option("--from", dest="source", type=_file, metavar="FILE",
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
        _option("--quotes", type=_file, metavar="FILE",
                help="table of quotations, CSV or TOML, one row an item: choose among them, nothing scaled"),
        _option("--all-designs", action="store_true",
                help="also run designs that fail a criterion which others meet"),
        _option("--with-intervals", action="append", metavar="NAME",
                help="also choose this interval or threshold, by its name in tune; may be given again"),
        _option("--limit-tap", type=word, metavar="PRESSURE",
                help='what 19 of 20 draws are to have at the tap, such as "20 psi" (default: no limit)'),
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
