"""What commands read: a site with its recorded series, refused in one line; what they write."""

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from sim import disk
from sim.errors import InputError
from sim.scenario.read import load
from sim.scenario.read.draws import read_draws
from sim.scenario.read.refusal import one_line
from sim.scenario.read.series import read_rain
from sim.scenario.scenario import Scenario
from sim.study.draws_record import REPEAT, check_cover, repeated
from sim.study.question import Site
from sim.study.rain_record import INSIST, check_length
from sim.study.runs.quota import MOST_YEARS, in_range
from sim.study.taken import Taken, lines, of_draws, of_rain
from sim.twin.common import days_of


def site_of(options: argparse.Namespace) -> Site:
    """Read the site and the series that were named."""
    scenario, told = load.load_told(options.site or load.DEMO)
    took: Taken = {"site": told, "climate": scenario.rain.climate, "options": options_of(options)}
    recorded = getattr(options, "rain", None) or scenario.rain.record
    rain = read_rain(recorded, scenario.rain) if recorded else None
    insists = getattr(options, "one_rain_year", False)
    if rain is not None:
        file = one_line(Path(str(recorded)).name)
        check_length(rain, file, insists, f"to go on all the same, say {INSIST}")
        took["rain"] = of_rain(rain, file)
    elif insists:
        raise InputError(f"{INSIST}: the rain here is not from a record; wanted it with --rain FILE")
    draws = _metered(options, scenario, took) if getattr(options, "draws", None) else None
    if draws is None and getattr(options, "draws_repeat", False):
        raise InputError(f"{REPEAT} is of no use without --draws FILE; wanted both or neither")
    return Site(scenario, rain, draws, took)


def options_of(options: argparse.Namespace) -> dict[str, Any]:
    """Return the options an answer depends on, as JSON has them; files by their names."""
    given = {name: value for name, value in vars(options).items() if name not in _NO_OPTIONS}
    return {
        _CALLED.get(name, name.replace("_", "-")): _plain(value)
        for name, value in given.items()
        if not (value is None or value is False or value == [] or name.startswith("_"))
    }


_CALLED = {"source": "from", "start": "from", "tries": "try"}  # on the command line
# Told apart, or of no matter to an answer: where it goes, and who does the work.
_NO_OPTIONS = ("command", "site", "rain", "draws", "out", "workers", "scheduler", "json", "note", "who")


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(item) for item in value]
    return (
        one_line(value.name if isinstance(value, Path) else value) if isinstance(value, str | Path) else value
    )


def policies_of(options: argparse.Namespace, site: Site) -> tuple[str, ...]:
    """Return the names of the policies that were asked for, each once; all when none was."""
    return tuple(dict.fromkeys(options.policy or [policy.name for policy in site.scenario.policies]))


def policy_of(options: argparse.Namespace, site: Site) -> str:
    """Return the name of the policy that was asked for, the first when none was."""
    return options.policy or site.scenario.policies[0].name


def write(folder: Path, contents: Mapping[str, bytes], site: Site | None = None) -> str:
    """Write the files of an answer; return the lines that say what it took of a site, and where it is."""
    names = [file.name for file in disk.write_all(folder, contents)]
    return "\n".join(
        [*lines(site.took if site else None), one_line(f"Written to {folder}: {', '.join(names)}")]
    )


def _metered(options: argparse.Namespace, scenario: Scenario, took: Taken) -> dict[str, Any]:
    """Return metered draws for a run as long as was asked for; note what they are."""
    years, repeats = getattr(options, "years", None), getattr(options, "draws_repeat", False)
    if years is not None:
        in_range("years", years, 1, MOST_YEARS)
    n_days = None if years is None else days_of(scenario.start, years)
    read = _read_draws(options.draws, scenario, repeats)
    took["draws"] = of_draws(read, one_line(options.draws.name), scenario.start, n_days, repeats)
    if n_days is None:
        return read
    check_cover(took["draws"], n_days)
    return repeated(read, n_days) if repeats else read


def _read_draws(path: Path, scenario: Scenario, early: bool) -> dict[str, Any]:
    """Return metered draws as a run takes them; a flow that was not metered is that of the use."""
    uses = scenario.house.uses
    read = read_draws(path, scenario.start, [use.name for use in uses], early)
    found: dict[str, Any] = dict(read)
    found["patience_s"] = max(use.patience_s for use in uses)
    if np.isnan(read["reference_pa"]):
        # A fixed orifice passes flow as the square root of pressure, so one reference does for all.
        reference_pa = uses[0].reference_pa
        flows = [use.flow_m3_s * (reference_pa / use.reference_pa) ** 0.5 for use in uses]
        found |= {"reference_pa": reference_pa, "flow_m3_s": np.array(flows)[read["use"]]}
    return found
