"""Does the answer hold over what nobody measured? Every policy at variants of the site."""

from dataclasses import dataclass
from typing import ClassVar

import pandas as pd

from sim.scenario.values.variants import spans
from sim.study.question import Simulated
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.quota import MOST_DRAWS, MOST_REPLICATIONS, in_range
from sim.study.uncertain import robust_words
from sim.study.uncertain.robust import Robust, robust
from sim.study.uncertain.uncertain import sampled


@dataclass(frozen=True)
class UncertainAnswer:
    """What the draws over the uncertain inputs say; nothing when fewer than two were finished."""

    kind: ClassVar[str] = "uncertain"
    finished: int
    wanted: int
    each: int  # runs of each policy at a draw
    inputs: int  # inputs that were drawn
    robust: Robust | None
    draws_table: pd.DataFrame | None  # one row a draw and policy
    interrupted: bool

    @property
    def manifest(self) -> dict[str, int]:
        """What the manifest says of the draws."""
        return {
            "draws": self.finished, "draws wanted": self.wanted, "runs each": self.each, "inputs": self.inputs
        }  # fmt: skip

    def files(self) -> dict[str, bytes]:
        """Return the tables to keep."""
        if self.robust is None or self.draws_table is None:
            return {}
        return {
            "uncertain.csv": store.csv_bytes(self.draws_table),
            "uncertain_inputs.csv": store.csv_bytes(robust_words.inputs_frame(self.robust)),
        }


@dataclass(frozen=True, kw_only=True)
class UncertainQuestion(Simulated):
    """Compare policies over what is uncertain of the site."""

    kind: ClassVar[str] = "uncertain"
    policies: tuple[str, ...]
    draws: int  # draws of the uncertain inputs, >= 2
    each: int  # runs of each policy at a draw, >= 2
    known: tuple[str, ...] = ()  # inputs that were measured here, so are not drawn

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        super().check()
        in_range("uncertain", self.draws, 2, MOST_DRAWS)
        in_range("each", self.each, 2, MOST_REPLICATIONS)
        self.site.policies(self.policies)
        spans(self.site.scenario, self.known)

    def answer(self, means: Means) -> UncertainAnswer:
        """Run the draws."""
        scenario = self.site.scenario
        found = sampled(
            scenario, self.site.policies(self.policies), self.inputs, self.each, self.draws, self.known, means
        )
        said = robust(found, scenario.goals) if len(found.sites) > 1 else None
        return UncertainAnswer(
            finished=len(found.sites),
            wanted=found.wanted,
            each=self.each,
            inputs=len(found.spans),
            robust=said,
            draws_table=None if said is None else robust_words.draws_frame(found, said),
            interrupted=found.interrupted,
        )
