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
from sim.scenario.read.series import read_rain
from sim.scenario.scenario import Scenario
from sim.study.question import Site
from sim.study.rain_record import INSIST, check_length


def site_of(options: argparse.Namespace) -> Site:
    """Read the site and the series that were named."""
    scenario = load.load(options.site or load.DEMO)
    recorded = getattr(options, "rain", None) or scenario.rain.record
    rain = read_rain(recorded, scenario.rain) if recorded else None
    insists = getattr(options, "one_rain_year", False)
    if rain is not None:
        check_length(rain, Path(str(recorded)).name, insists, f"to go on all the same, say {INSIST}")
    elif insists:
        raise InputError(f"{INSIST}: the rain here is not from a record; wanted it with --rain FILE")
    draws = getattr(options, "draws", None)
    return Site(scenario, rain, _metered(draws, scenario) if draws else None)


def policies_of(options: argparse.Namespace, site: Site) -> tuple[str, ...]:
    """Return the names of the policies that were asked for, each once; all when none was."""
    return tuple(dict.fromkeys(options.policy or [policy.name for policy in site.scenario.policies]))


def policy_of(options: argparse.Namespace, site: Site) -> str:
    """Return the name of the policy that was asked for, the first when none was."""
    return options.policy or site.scenario.policies[0].name


def write(folder: Path, contents: Mapping[str, bytes]) -> str:
    """Write the files of an answer; return the line that says so."""
    names = [file.name for file in disk.write_all(folder, contents)]
    return f"Written to {folder}: {', '.join(names)}"


def _metered(path: Path, scenario: Scenario) -> dict[str, Any]:
    """Return metered draws as a run takes them; a flow that was not metered is that of the use."""
    uses = scenario.house.uses
    read = read_draws(path, scenario.start, [use.name for use in uses])
    found: dict[str, Any] = dict(read)
    found["patience_s"] = max(use.patience_s for use in uses)
    if np.isnan(read["reference_pa"]):
        # A fixed orifice passes flow as the square root of pressure, so one reference does for all.
        reference_pa = uses[0].reference_pa
        flows = [use.flow_m3_s * (reference_pa / use.reference_pa) ** 0.5 for use in uses]
        found |= {"reference_pa": reference_pa, "flow_m3_s": np.array(flows)[read["use"]]}
    return found
