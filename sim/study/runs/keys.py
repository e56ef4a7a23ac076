"""Names of runs by their content: the same run has the same key in every study, folder and process."""

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from sim import __version__
from sim.scenario.values.digest import digest, draws_digest
from sim.study.runs.request import Design, Inputs
from sim.version import program_version


def prefixes(designs: Sequence[Design], inputs: Inputs) -> list[list[str]]:
    """Return what the keys of the runs of each policy of each design begin with.

    Notes
    -----
    Everything a row depends on is in it but the replication: program, scenario, policy, length, seed, series.
    """
    version, draws = program_version(), draws_digest(inputs.draws)
    series = [inputs.rain.digest] if inputs.rain else []
    scenarios: dict[int, str] = {}
    found = []
    for design in designs:
        scenario = scenarios.setdefault(id(design.scenario), "") or digest(design.scenario, *series)
        scenarios[id(design.scenario)] = scenario
        shared = [version, design.root(inputs), inputs.years, draws, scenario]
        found.append([_sha([*shared, policy.model_dump(mode="json")]) for policy in design.policies])
    return found


def run_key(prefix: str, replication: int) -> str:
    """Return the key of a run."""
    return f"{prefix}-{replication}"


def prefix_of(key: str) -> str:
    """Return what a key begins with."""
    return key.partition("-")[0]


def plan(designs: Sequence[Design], inputs: Inputs) -> dict[str, Any]:
    """Return what is asked in words, for people who look into the folder of a study."""
    starts = prefixes(designs, inputs)
    return {
        "program": "cisterntwin",
        "version": __version__,
        "source": program_version(),
        "seed": inputs.seed,
        "years": inputs.years,
        "rain": inputs.rain.digest if inputs.rain else None,
        "draws": draws_digest(inputs.draws) or None,
        "designs": [
            {
                "label": design.label,
                "site": design.scenario.name,
                "policies": {policy.name: start for policy, start in zip(design.policies, row, strict=True)},
            }
            for design, row in zip(designs, starts, strict=True)
        ],
    }


def _sha(content: Sequence[Any]) -> str:
    canonical = json.dumps(list(content), sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(canonical.encode()).hexdigest()[:32]
