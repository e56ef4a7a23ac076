"""Digests that name a scenario, and draws that were metered, by their content."""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from sim.scenario.scenario import Scenario


def digest(scenario: Scenario, *series_digests: str) -> str:
    """Return the SHA-256 of a scenario and of the series it reads.

    Notes
    -----
    Canonical JSON: keys sorted, floats as their shortest exact decimal. The folder of a record is left out,
    so that moving the files changes nothing; its content counts through `series_digests`.
    """
    content = scenario.model_dump(mode="json")
    for key in (
        "alternatives",
        "equipment",
        "logger",
    ):  # a scenario that states none is named as it was before they were
        if not content[key]:
            del content[key]
    if scenario.rain.record is not None:
        content["rain"]["record"] = Path(scenario.rain.record).name
    canonical = json.dumps([content, *series_digests], sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(canonical.encode()).hexdigest()


def draws_digest(draws: Mapping[str, Any] | None) -> str:
    """Return a digest of metered draws: empty when there are none."""
    if draws is None:
        return ""
    whole = hashlib.sha256()
    for name in sorted(draws):
        values = np.asarray(draws[name])
        whole.update(f"{name} {values.dtype} {values.shape}\n".encode() + values.tobytes())
    return whole.hexdigest()
