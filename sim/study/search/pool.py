"""The arms of a search (a design under a policy), their rows so far, and samples of them."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from sim.study.compare.measures import counted_days
from sim.study.runs.request import Request
from sim.study.runs.runner import StudyRunner

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
SPENT = "cost_a_year"  # running cost and the equipment spread over its life
DAYS_COUNTED = "days_counted"  # below the dose target, known chances in place of what was met


@dataclass(frozen=True, order=True)
class Arm:
    """A design under one of its policies, by their numbers."""

    design: int
    policy: int


class Pool:
    """Has arms run through replications, never one twice, and keeps the rows."""

    def __init__(self, runner: StudyRunner, equipment: Sequence[float]) -> None:
        """Begin with no rows.

        Parameters
        ----------
        equipment : sequence of float
            Cost of the equipment of each design, spread over its life [money/year].
        """
        self.designs = runner.designs
        self._run: Callable[[Sequence[Request]], pd.DataFrame] = runner.run
        self._equipment = np.asarray(equipment, dtype=np.float64)
        self._done: dict[Arm, set[int]] = defaultdict(set)
        self._kept: list[tuple[Ints, Ints, pd.DataFrame]] = []  # code of the arm, replication, rows
        self._widest = max(len(design.policies) for design in runner.designs)

    @property
    def arms(self) -> list[Arm]:
        """All arms, policies of a design one after the other."""
        return [Arm(d, p) for d, design in enumerate(self.designs) for p in range(len(design.policies))]

    @property
    def runs(self) -> int:
        """Runs so far: one arm through one replication is one."""
        return sum(map(len, self._done.values()))

    @property
    def rows(self) -> pd.DataFrame:
        """All rows so far, by design, policy and replication, with `cost_a_year` and the design's name."""
        if not self._kept:
            return pd.DataFrame()
        frame = pd.concat([frame for *_, frame in self._kept], ignore_index=True)
        return frame.sort_values(["design", "arm_policy", "replication"], ignore_index=True)

    def label(self, arm: Arm) -> str:
        """Return what people call an arm."""
        design = self.designs[arm.design]
        several = any(len(one.policies) > 1 for one in self.designs)
        name = design.policies[arm.policy].name
        return f"{design.label} ({name})" if several else design.label

    def need(self, arms: Iterable[Arm], first: int, stop: int) -> None:
        """Have arms run through replications, as far as they were not."""
        wanted: dict[tuple[int, int, int], list[int]] = defaultdict(list)
        for arm in sorted(set(arms)):
            missing = [number for number in range(first, stop) if number not in self._done[arm]]
            if missing:  # blocks grow at their end, so what is missing is one stretch
                wanted[arm.design, missing[0], missing[-1] + 1].append(arm.policy)
        requests = [Request(d, tuple(policies), a, b) for (d, a, b), policies in sorted(wanted.items())]
        if not requests:
            return
        rows = self._run(requests)
        self._keep(rows)
        for request in requests:
            for policy in request.policies:
                self._done[Arm(request.design, policy)] |= set(range(request.first, request.stop))

    def sample(self, arms: Sequence[Arm], first: int, stop: int, column: str) -> Floats:
        """Return a column of the rows of arms."""
        found = np.full((len(arms), stop - first), np.nan)
        place = np.full(len(self.designs) * self._widest, -1)
        place[[self._code(arm.design, arm.policy) for arm in arms]] = range(len(arms))
        for codes, numbers, frame in self._kept:
            at = place[codes]
            inside = (numbers >= first) & (numbers < stop) & (at >= 0)
            if inside.any():
                values = frame[column].to_numpy(dtype=np.float64)
                found[at[inside], numbers[inside] - first] = values[inside]
        return found

    def whole(self, arm: Arm, column: str) -> dict[int, float]:
        """Return a column of all rows of an arm."""
        found: dict[int, float] = {}
        for codes, numbers, frame in self._kept:
            inside = codes == self._code(arm.design, arm.policy)
            values = frame[column].to_numpy(dtype=np.float64)[inside]
            found |= dict(zip(map(int, numbers[inside]), map(float, values), strict=True))
        return found

    def counts(self, arm: Arm, first: int, stop: int) -> int:
        """Return how many replications of a stretch an arm was run through."""
        return sum(first <= number < stop for number in self._done[arm])

    def _keep(self, rows: pd.DataFrame) -> None:
        frame = rows.copy()
        numbers = frame["design"].to_numpy(dtype=np.int64)
        places = [{one.name: at for at, one in enumerate(design.policies)} for design in self.designs]
        frame["arm_policy"] = [places[d][name] for d, name in zip(numbers, frame["policy"], strict=True)]
        renewed = frame.get("cost_renewals", 0.0)
        # What was spent on a new pump or tank is in its price over its life already.
        frame[SPENT] = frame["cost"] + self._equipment[numbers] - renewed
        frame[DAYS_COUNTED] = counted_days(frame)
        frame.insert(1, "label", [self.designs[d].label for d in numbers])
        codes = numbers * self._widest + frame["arm_policy"].to_numpy(dtype=np.int64)
        self._kept.append((codes, frame["replication"].to_numpy(dtype=np.int64), frame))

    def _code(self, design: int, policy: int) -> int:
        return design * self._widest + policy
