"""A job as bytes for another process: JSON text and arrays, nothing that runs when it is read.

Designs of a search are alike but for a few values, so each table of a scenario is sent once and designs name
theirs by number; a worker reads a design when it first runs it.
"""

import io
import json
from collections.abc import Sequence
from typing import Any

import numpy as np

from sim.scenario.care import Policy
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.study.runs.batch import Job, Planned

_DRAWS, _RAIN = "draws_", "rain_"


def packed(job: Job) -> bytes:
    """Return a job as bytes."""
    texts: dict[str, int] = {}

    def numbered(tables: dict[str, Any]) -> dict[str, int]:
        written = ((key, json.dumps(item, default=str)) for key, item in tables.items())
        return {key: texts.setdefault(text, len(texts)) for key, text in written}

    designs = [
        [
            numbered(tables_of(scenario, stated=True)),
            [numbered(tables_of(policy, stated=True)) for policy in policies],
            seed,
        ]
        for scenario, policies, seed in job.designs
    ]
    plain = {"designs": designs, "texts": list(texts), "years": job.years}
    arrays: dict[str, Any] = {_DRAWS + name: np.asarray(values) for name, values in (job.draws or {}).items()}
    if job.rain is not None:
        arrays |= {_RAIN + "dates": job.rain.dates, _RAIN + "depth_m": job.rain.depth_m}
        plain["rain"] = job.rain.digest
    plain["draws"] = job.draws is not None
    buffer = io.BytesIO()
    np.savez(buffer, plain=np.frombuffer(json.dumps(plain).encode(), np.uint8), **arrays)
    return buffer.getvalue()


def unpacked(content: bytes) -> Job:
    """Return the job of bytes."""
    with np.load(io.BytesIO(content), allow_pickle=False) as parts:
        plain = json.loads(parts["plain"].tobytes())
        found = {name: parts[name] for name in parts.files}
    draws = {
        name.removeprefix(_DRAWS): array if array.ndim else array.item()
        for name, array in found.items()
        if name.startswith(_DRAWS)
    }
    rain = None
    if "rain" in plain:
        rain = RainRecord(found[_RAIN + "dates"], found[_RAIN + "depth_m"], plain["rain"])
    designs = _Designs(plain["designs"], plain["texts"])
    return Job(designs, plain["years"], rain, draws if plain["draws"] else None)


class _Designs(Sequence[Planned]):
    """Designs that were sent, each read when it is first asked for."""

    def __init__(self, sent: list[Any], texts: list[str]) -> None:
        self._sent, self._texts = sent, texts
        self._read: dict[int, Planned] = {}

    def __len__(self) -> int:
        return len(self._sent)

    def __getitem__(self, at: Any) -> Any:
        if at not in self._read:
            scenario, policies, seed = self._sent[at]
            self._read[at] = (self._scenario(scenario), tuple(map(self._policy, policies)), seed)
        return self._read[at]

    def _tables(self, numbers: dict[str, int]) -> dict[str, Any]:
        return {key: json.loads(self._texts[number]) for key, number in numbers.items()}

    def _scenario(self, numbers: dict[str, int]) -> Scenario:
        return scenario_of(self._tables(numbers), "a design that was sent")

    def _policy(self, numbers: dict[str, int]) -> Policy:
        tables = self._tables(numbers)
        # A name that was made longer than one in a file may be, such as that of a setting, is kept as it is.
        return Policy.model_validate(tables | {"name": "sent"}).model_copy(update={"name": tables["name"]})
