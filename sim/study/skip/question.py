"""What if nobody does it? The same house and weather with work left undone, told and counted."""

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

import pandas as pd

from sim.errors import Interrupted
from sim.outcome.frames import days_frame
from sim.scenario.care import EVERYTHING, Policy
from sim.scenario.gravity import check_pumped
from sim.study.one_run.question import OneOfMany
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.replicate import StudyResult, check_asked, study
from sim.study.runs.request import Design
from sim.study.skip import skip_words
from sim.study.skip.skipping import Ends, ends, skipping
from sim.study.skip.story import Story, tell
from sim.study.stated_lives import skip_note
from sim.twin import run as twin
from sim.twin.history import History
from sim.units import Units


@dataclass(frozen=True)
class SkipAnswer(StudyResult):
    """What a skip led to: over all runs, as figures and in words, and in the run that is told."""

    kind: ClassVar[str] = "skip"
    ends: Ends
    sentence: str
    story: Story
    skipped: pd.DataFrame  # days of that run, with the work left undone and done
    kept: pd.DataFrame
    manifest: dict[str, Any]

    def files(self) -> dict[str, bytes]:
        """Return the tables to keep."""
        start = self.skipped["date"].iloc[0].date()
        signs = [{"date": sign.on(start), **asdict(sign)} for sign in self.story.signs]
        columns = ["date", "what", "subject", "day", "value", "kept", "seen_on", "cause"]
        return {
            "signs.csv": store.csv_bytes(pd.DataFrame(signs, columns=columns)),
            "months.csv": store.csv_bytes(skip_words.months_frame(self.story)),
            **store.rows_files(self.rows),
        }


@dataclass(frozen=True, kw_only=True)
class SkipQuestion(OneOfMany):
    """Leave tasks of a policy undone for a time; `replication` is the run that is told."""

    kind: ClassVar[str] = "skip"
    tasks: tuple[str, ...] = (EVERYTHING,)  # what nobody does, see `skipping`
    from_s: float = 0.0  # when [s since the start of the run]; to its end when None
    until_s: float | None = None
    replications: int  # runs of each, >= 1
    units: Units = "us"

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_pumped(self.site.scenario.cistern, "skip")
        super().check()
        check_asked(self.seed, self.years, self.replications)
        _ = self.left

    @property
    def left(self) -> Policy:
        """The policy with the work left undone."""
        policy = self.site.policy(self.policy)
        return skipping(policy, self.tasks, self.from_s, self.until_s)

    def answer(self, means: Means) -> SkipAnswer:
        """Run both, tell one run and count all."""
        scenario, told = self.site.scenario, means.on_partial
        both, common = (self.site.policy(self.policy), self.left), self.common
        runs = [twin.run(scenario, policy, common) for policy in both]
        result = study(
            Design(scenario.name, scenario, both), self.inputs, self.replications, means,
            on_rows=None if told is None else lambda rows: told(self._answer(rows, *runs)),
        )  # fmt: skip
        if result.finished == 0:
            raise Interrupted("interrupted before any run was finished; nothing was written")
        return self._answer(result, *runs)

    def _answer(self, result: StudyResult, done: History, undone: History) -> SkipAnswer:
        kept, left = self.policy, self.left
        found = ends(result.rows, kept, left.name)
        note = skip_note(left, self.site.scenario, self.years)
        plain = self.manifest((kept, left.name), result.finished, result.wanted, result.stopped_because)
        return SkipAnswer(
            **vars(result),
            ends=found,
            sentence=" ".join(filter(None, (note, skip_words.answer(found, self.site.scenario, left)))),
            story=tell(done, undone, left, self.units),
            skipped=days_frame(undone),
            kept=days_frame(done),
            manifest={**plain, "skips": [one.model_dump(mode="json") for one in left.skips]},
        )
