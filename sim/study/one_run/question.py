"""What happens in this house, day by day? One run of one policy."""

from dataclasses import dataclass
from typing import ClassVar

import pandas as pd

from sim.outcome import frames, measures
from sim.study.question import Simulated
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.quota import MOST_REPLICATIONS, in_range
from sim.twin import run as twin
from sim.twin.common import Common

EVERY_TABLE = tuple(frames.FRAMES)


@dataclass(frozen=True)
class RunAnswer:
    """What one run came to: the tables that were asked for (`sim.outcome.frames.frames`), and its row."""

    kind: ClassVar[str] = "run"
    tables: dict[str, pd.DataFrame]
    row: dict[str, float | int | str]

    def files(self) -> dict[str, bytes]:
        """Return the tables to keep."""
        return {
            file: content
            for name, table in self.tables.items()
            for file, content in store.table_files(name, table).items()
        }


@dataclass(frozen=True, kw_only=True)
class OneOfMany(Simulated):
    """What questions share that look at one run of many; the first has the number 0."""

    policy: str
    replication: int = 0

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        super().check()
        in_range("replication", self.replication, 0, MOST_REPLICATIONS)
        self.site.policy(self.policy)

    @property
    def common(self) -> Common:
        """Everything random of the run."""
        site = self.site
        return twin.common_inputs(
            site.scenario, self.replication, self.seed, self.years, site.rain, site.draws
        )


@dataclass(frozen=True, kw_only=True)
class RunQuestion(OneOfMany):
    """Run one policy once, for some of its tables."""

    kind: ClassVar[str] = "run"
    tables: tuple[str, ...] = EVERY_TABLE

    def answer(self, means: Means) -> RunAnswer:
        """Run it, in this process."""
        del means
        history = twin.run(self.site.scenario, self.site.policy(self.policy), self.common)
        return RunAnswer(frames.frames(history, self.tables), measures.row(history, self.site.draws))
