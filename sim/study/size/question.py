"""Which sizes cost least within the limits? Cartridges, UV unit, tank, pump and cistern."""

from dataclasses import dataclass
from typing import Any, ClassVar

from sim.scenario.quotation import Item
from sim.scenario.sizing import Alternative
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.search.alternatives import choices, gathered
from sim.study.search.question import Searched
from sim.study.search.search_tables import mover_frame, rule_frame, step_frame
from sim.study.size.size_words import size_sentences
from sim.study.size.sizes import SizeStudy, size_study
from sim.units import Units


@dataclass(frozen=True)
class SizeAnswer:
    """What a search over sizes came to: all of it, in words, and what is needed to make it again."""

    kind: ClassVar[str] = "size"
    study: SizeStudy
    sentences: tuple[str, ...]
    manifest: dict[str, Any]

    def files(self) -> dict[str, bytes]:
        """Return the tables to keep."""
        return {
            **store.rows_files(self.study.rows),
            **store.table_files("designs", self.study.lines),
            "steps.csv": store.csv_bytes(step_frame(self.study.steps)),
            "rules.csv": store.csv_bytes(rule_frame(self.study.rules)),
            "movers.csv": store.csv_bytes(mover_frame(self.study.movers)),
        }


@dataclass(frozen=True, kw_only=True)
class SizeQuestion(Searched):
    """Search over sizes."""

    kind: ClassVar[str] = "size"
    policies: tuple[str, ...]
    # what to choose between, such as "uv.rated_flow=6 gpm,8 gpm"; what the site says when there are none
    tries: tuple[str, ...] = ()
    full: bool = False  # whether every design is given every replication
    units: Units = "us"
    items: tuple[Item, ...] = ()  # quotations to choose among
    by_criteria: bool = True  # whether a design that fails a criterion others meet is put out before any run

    @property
    def alternatives(self) -> list[Alternative]:
        """What is chosen between."""
        return gathered(self.site.scenario, self.tries, self.items)

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        super().check()
        self.site.policies(self.policies)
        choices(self.site.scenario, self.alternatives, self.policies, self.items)

    def answer(self, means: Means) -> SizeAnswer:
        """Search."""
        scenario = self.site.scenario
        found = size_study(
            scenario, self.alternatives, self.policies, means.opener(self.inputs), self.worth,
            self.replications, self.full, self.units, self.site.rain, items=self.items,
            by_criteria=self.by_criteria,
        )  # fmt: skip
        manifest = self.manifest(self.policies, self.replications, self.replications, "complete") | {
            "command": self.kind,
            "runs": len(found.rows),
            "worth": self.worth,
            "full": self.full,
            "alternatives": {one.key: [str(value) for value in one.values] for one in self.alternatives},
        }
        return SizeAnswer(
            found,
            (*size_sentences(found, scenario.prices.currency), *self.site.said),
            manifest,
        )
