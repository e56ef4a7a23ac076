"""Which policy costs least within the limits? Every policy through the same weather, draws and failures."""

from dataclasses import dataclass
from typing import Any, ClassVar

from sim.errors import InputError, Interrupted
from sim.scenario.scenario import nearest
from sim.study.asked import Simulated
from sim.study.compare.comparison import Comparison, compare_by_goals
from sim.study.compare.comparison_tables import difference_frame, summary_frame
from sim.study.compare.sentences import sentences_of, what_would_change_this
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.replicate import StudyResult, check_asked, study
from sim.study.runs.request import Design


@dataclass(frozen=True)
class CompareAnswer(StudyResult):
    """What a comparison came to.

    Attributes
    ----------
    comparison : Comparison
        Policies side by side.
    sentences : tuple of str
        The answer in words, the finding first.
    changes : tuple of str
        What would change it.
    manifest : dict
        What is needed to make the same rows again.
    """

    kind: ClassVar[str] = "compare"
    comparison: Comparison
    sentences: tuple[str, ...]
    changes: tuple[str, ...]
    manifest: dict[str, Any]

    def files(self) -> dict[str, bytes]:
        """Return the tables to keep."""
        return {
            **store.table_files("rows", self.rows),
            "summary.csv": store.csv_bytes(summary_frame(self.comparison)),
            "differences.csv": store.csv_bytes(difference_frame(self.comparison)),
        }


@dataclass(frozen=True, kw_only=True)
class CompareQuestion(Simulated):
    """Compare policies of a site.

    Attributes
    ----------
    policies : tuple of str
        Their names.
    replications : int
        Runs of each, >= 1; a cap when `within` is given.
    reference : str
        Policy the others are compared with; the first when none is named.
    within : float or None
        Stop once all yearly cost differences are known to this half-width [money/year], > 0.
    """

    kind: ClassVar[str] = "compare"
    policies: tuple[str, ...]
    replications: int
    reference: str = ""
    within: float | None = None

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_asked(self.seed, self.years, self.replications, self.within)
        self.site.policies(self.policies)
        if self.reference and self.reference not in self.policies:
            raise InputError(
                f"policy {self.reference!r} is unknown; {nearest(self.reference, self.policies)}"
            )

    def answer(self, means: Means) -> CompareAnswer:
        """Compare them."""
        scenario, told = self.site.scenario, means.on_partial
        result = study(
            Design(scenario.name, scenario, self.site.policies(self.policies)), self.inputs,
            self.replications, means, self.within, self.reference or None,
            None if told is None else lambda rows: told(self._answer(rows)),
        )  # fmt: skip
        if result.finished == 0:
            raise Interrupted("interrupted before any run was finished; nothing was written")
        return self._answer(result)

    def _answer(self, result: StudyResult) -> CompareAnswer:
        goals, currency = self.site.scenario.goals, self.site.scenario.prices.currency
        found = compare_by_goals(result.rows, self.reference or self.policies[0], goals, result.by_spread)
        asked = result.finished if result.by_spread else result.wanted
        return CompareAnswer(
            **vars(result),
            comparison=found,
            sentences=tuple(sentences_of(found, currency, asked)),
            changes=tuple(what_would_change_this(found, currency)),
            manifest=self.manifest(
                self.policies, result.finished, result.wanted, result.stopped_because, found.reference
            ),
        )
