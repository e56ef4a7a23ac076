"""Which policy costs least within the limits? Every policy through the same weather, draws and failures."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, ClassVar

import pandas as pd

from sim.errors import InputError, Interrupted
from sim.scenario.nearest import nearest
from sim.study.compare.comparison import Comparison, compare_by_goals
from sim.study.compare.comparison_tables import difference_frame, summary_frame
from sim.study.compare.notes import notes
from sim.study.compare.sentences import rating_sentence, sentences_of, what_would_change_this
from sim.study.compare.standing import LOOKS
from sim.study.compare.turning import other_houses, turning_sentences
from sim.study.question import Simulated
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.replicate import INTERRUPTED, StudyResult, check_asked, studied
from sim.study.runs.request import Design, Request
from sim.study.runs.runner import StudyRunner


@dataclass(frozen=True)
class CompareAnswer(StudyResult):
    """What a comparison came to: the rows, policies side by side, in words, what would change the answer."""

    kind: ClassVar[str] = "compare"
    comparison: Comparison
    sentences: tuple[str, ...]
    changes: tuple[str, ...]
    manifest: dict[str, Any]

    def files(self) -> dict[str, bytes]:
        """Return the tables to keep."""
        return {
            **store.rows_files(self.rows),
            "summary.csv": store.csv_bytes(summary_frame(self.comparison)),
            "differences.csv": store.csv_bytes(difference_frame(self.comparison)),
        }


@dataclass(frozen=True, kw_only=True)
class CompareQuestion(Simulated):
    """Compare policies of a site.

    Attributes
    ----------
    replications : int or None
        Runs of each, >= 1, a cap when `within` is given; None for as many as it takes, 80 at most.
    reference : str
        Policy the others are compared with; the first when none is named.
    within : float or None
        Stop once all yearly cost differences are known to this half-width [money/year], > 0.
    """

    kind: ClassVar[str] = "compare"
    policies: tuple[str, ...]
    replications: int | None = None
    reference: str = ""
    within: float | None = None

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_asked(self.seed, self.years, self.most, self.within)
        self.site.policies(self.policies)
        if self.reference and self.reference not in self.policies:
            raise InputError(
                f"policy {self.reference!r} is unknown; {nearest(self.reference, self.policies)}"
            )

    @property
    def most(self) -> int:
        """Most runs of each policy."""
        return LOOKS[-1] if self.replications is None else self.replications

    @property
    def looks(self) -> tuple[int, ...]:
        """After how many runs it is looked at; none where their number is fixed."""
        return LOOKS if self.replications is None and self.within is None else ()

    def answer(self, means: Means) -> CompareAnswer:
        """Compare them."""
        policies, told = self.site.policies(self.policies), means.on_partial
        others = other_houses(self.site.scenario) if self.looks else []
        designs = [Design(one.said or one.kind, one.scenario, policies) for one in others]
        own = Design(self.site.scenario.name, self.site.scenario, policies)
        with means.open([own, *designs], self.inputs, runs_each=len(policies)) as runner:
            result = studied(
                runner, self.most, self.within, self.reference or None,
                None if told is None else lambda rows: told(self._answer(rows)),
                self._settled if self.looks else None, self.looks,
            )  # fmt: skip
            if result.finished == 0:
                raise Interrupted("interrupted before any run was finished; nothing was written")
            first = self._answer(result)
            if not self.looks or result.stopped_because == INTERRUPTED:
                return first
            if told is not None:
                told(first)  # what would change it takes some more runs
            runner.tell = lambda finished, wanted: means.tell(finished, wanted, "what would change it")
            return self._turned(result, first, runner)

    def _turned(self, result: StudyResult, first: CompareAnswer, runner: StudyRunner) -> CompareAnswer:
        """Return the answer with what would change it; without that when interrupted."""

        def run(requests: Sequence[Request]) -> pd.DataFrame:
            rows = runner.run([replace(one, design=one.design + 1) for one in requests])
            return rows.assign(design=rows["design"] - 1)

        try:
            return self._answer(result, turning_sentences(self.site.scenario, first.comparison, run))
        except Interrupted:
            return first

    def _compared(self, rows: pd.DataFrame, stopped: bool) -> Comparison:
        reference = self.reference or self.policies[0]
        return compare_by_goals(rows, reference, self.site.scenario.goals, stopped, self.looks)

    def _settled(self, rows: pd.DataFrame) -> str:
        found = self._compared(rows, stopped=True)
        return f"Enough: after {found.runs} runs every verdict is settled." if found.settled else ""

    @cached_property
    def _beside(self) -> tuple[str, ...]:
        """What is said of the house whatever its runs say; an answer that tightens says it at each look."""
        return *notes(self.site.scenario, self.policies, self.site.rain), *self.site.said

    def _answer(self, result: StudyResult, turning: Sequence[str] = ()) -> CompareAnswer:
        scenario = self.site.scenario
        found = self._compared(result.rows, result.by_spread)
        asked = result.finished if result.by_spread else result.wanted
        currency, pumped = scenario.prices.currency, not scenario.cistern.gravity_feed
        return CompareAnswer(
            **vars(result),
            comparison=found,
            sentences=(
                *sentences_of(
                    found, currency, asked, rating_sentence(scenario.uv), turning, pumped, scenario
                ),
                *self._beside,
            ),
            changes=tuple(what_would_change_this(found, currency)),
            manifest=self.manifest(
                self.policies, result.finished, result.wanted, result.stopped_because, found.reference
            ),
        )
