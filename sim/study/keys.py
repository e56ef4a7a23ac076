"""Names of runs by their content: the same run has the same key in every study, folder and process."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from sim.scenario.digest import digest
from sim.study.seam import Design, Inputs
from sim.study.version import program_version


def prefixes(designs: Sequence[Design], inputs: Inputs) -> list[list[str]]:
    """Return what the keys of the runs of each policy of each design begin with.

    Parameters
    ----------
    designs : sequence of Design
        Houses and policies.
    inputs : Inputs
        What they share.

    Returns
    -------
    list of list of str
        By design, then policy.

    Notes
    -----
    Everything a row depends on is in it but the replication: program, scenario, policy, length, seed, series.
    """
    shared = [program_version(), inputs.seed, inputs.years, draws_digest(inputs.draws)]
    series = [inputs.rain.digest] if inputs.rain else []
    scenarios: dict[int, str] = {}
    found = []
    for design in designs:
        scenario = scenarios.setdefault(id(design.scenario), "") or digest(design.scenario, *series)
        scenarios[id(design.scenario)] = scenario
        found.append(
            [_sha([*shared, scenario, policy.model_dump(mode="json")]) for policy in design.policies]
        )
    return found


def run_key(prefix: str, replication: int) -> str:
    """Return the key of a run.

    Parameters
    ----------
    prefix : str
        From `prefixes`.
    replication : int
        Its number.

    Returns
    -------
    str
        32 hexadecimal digits.
    """
    return hashlib.sha256(f"{prefix} {replication}".encode()).hexdigest()[:32]


def draws_digest(draws: Mapping[str, Any] | None) -> str:
    """Return a digest of metered draws.

    Parameters
    ----------
    draws : mapping or None
        Arrays and numbers by name.

    Returns
    -------
    str
        Empty when there are none.
    """
    if draws is None:
        return ""
    whole = hashlib.sha256()
    for name in sorted(draws):
        values = np.asarray(draws[name])
        whole.update(f"{name} {values.dtype} {values.shape}\n".encode() + values.tobytes())
    return whole.hexdigest()


def _sha(content: Sequence[Any]) -> str:
    canonical = json.dumps(list(content), sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
