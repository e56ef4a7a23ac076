"""Inputs that commands share: the site, its policies, its recorded series; refused in one line."""

import argparse
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sim.errors import InputError
from sim.scenario.care import Policy
from sim.scenario.read import load
from sim.scenario.read.draws import read_draws
from sim.scenario.read.series import RainRecord, read_rain
from sim.scenario.scenario import Scenario, nearest
from sim.scenario.values.digest import digest
from sim.study.rain_record import INSIST, check_length


@dataclass(frozen=True)
class Inputs:
    """A site with its recorded series."""

    scenario: Scenario
    rain: RainRecord | None
    draws: dict[str, Any] | None
    digest: str


def read(options: argparse.Namespace) -> Inputs:
    """Read the site and the series that were named."""
    scenario = load.load(options.site or load.DEMO)
    recorded = getattr(options, "rain", None) or scenario.rain.record
    rain = read_rain(recorded, scenario.rain) if recorded else None
    insists = getattr(options, "one_rain_year", False)
    if rain is not None:
        check_length(rain, Path(str(recorded)).name, insists, f"to go on all the same, say {INSIST}")
    elif insists:
        raise InputError(f"{INSIST}: the rain here is not from a record; wanted it with --rain FILE")
    draws, digests = None, [rain.digest] if rain else []
    if getattr(options, "draws", None):
        draws = _metered(options.draws, scenario)
        digests.append(hashlib.sha256(options.draws.read_bytes()).hexdigest())
    return Inputs(scenario, rain, draws, digest(scenario, *digests))


def chosen(policies: Sequence[Policy], name: str) -> Policy:
    """Return the policy of a name.

    Raises
    ------
    InputError
        When there is none; the nearest name is offered.
    """
    found = {policy.name: policy for policy in policies}
    if name in found:
        return found[name]
    raise InputError(f"policy {name!r} is unknown; {nearest(name, found)}")


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
