"""Inputs that commands share: the site, its policies, its recorded series; all refused at the door in one line."""

import argparse
import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sim.errors import InputError
from sim.scenario import load, series
from sim.scenario.care import Policy
from sim.scenario.digest import digest
from sim.scenario.scenario import Scenario
from sim.scenario.series import RainRecord


@dataclass(frozen=True)
class Inputs:
    """A site with its recorded series."""

    scenario: Scenario
    rain: RainRecord | None
    draws: Mapping[str, Any] | None
    digest: str


def at_least(name: str, value: int, least: int) -> None:
    """Refuse a number that is too small.

    Parameters
    ----------
    name : str
        What it is, as people know it.
    value : int
        The number.
    least : int
        The smallest that will do.
    """
    if value < least:
        raise InputError(f"{name} is {value}; wanted {least} or more")


def read(options: argparse.Namespace) -> Inputs:
    """Read the site and the series that were named.

    Parameters
    ----------
    options : Namespace
        `site` and `rain`, and `draws` where the command has it.

    Returns
    -------
    Inputs
        What to run.
    """
    scenario = load.load(options.site or load.DEMO)
    rain = series.read_rain(options.rain, scenario.rain) if options.rain else None
    draws, drawn = None, ""
    if getattr(options, "draws", None):
        draws, drawn = read_draws(options, scenario)
    parts = [part for part in (rain.digest if rain else "", drawn) if part]
    return Inputs(scenario, rain, draws, digest(scenario, *parts))


def chosen(policies: Sequence[Policy], name: str) -> Policy:
    """Return the policy of a name.

    Parameters
    ----------
    policies : sequence of Policy
        Those of the site.
    name : str
        Name as written.

    Returns
    -------
    Policy
        The one of that name.

    Raises
    ------
    InputError
        When there is none; the nearest name is offered.
    """
    found = {policy.name: policy for policy in policies}
    if name in found:
        return found[name]
    near = difflib.get_close_matches(name, found, n=1, cutoff=0.0)
    offer = f"; did you mean {near[0]!r}?" if near else ""
    raise InputError(f"policy {name!r} is unknown{offer} There are: {', '.join(found)}")
