"""Which intervals and thresholds of a policy cost least within the limits?"""

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from sim.errors import InputError
from sim.scenario.care import Policy
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.request import Design
from sim.study.runs.runner import StudyRunner
from sim.study.search.limits import Limits, limits_of
from sim.study.search.question import Searched
from sim.study.search.search_tables import mover_frame
from sim.study.search.so_far import SoFar, so_far
from sim.study.tune.curves import UPPER_TENTH
from sim.study.tune.settings_grid import changed_words, chosen_dials, dials, point_of
from sim.study.tune.tune import TuneStudy, tune_study
from sim.study.tune.tune_tables import curve_frame, hard_frame
from sim.units import Units


@dataclass(frozen=True)
class TuneAnswer:
    """What a search over intervals came to, and what is needed to make it again."""

    kind: ClassVar[str] = "tune"
    study: TuneStudy
    manifest: dict[str, Any]

    def files(self, units: Units) -> dict[str, bytes]:
        """Return the tables to keep, in "us" or "si" units."""
        return {
            **store.rows_files(self.study.rows),
            **store.table_files("curves", curve_frame(self.study, units)),
            "hard.csv": store.csv_bytes(hard_frame(self.study, units)),
            "movers.csv": store.csv_bytes(mover_frame(self.study.movers)),
        }


@dataclass(frozen=True, kw_only=True)
class TuneQuestion(Searched):
    """Search over the intervals and thresholds of a policy."""

    kind: ClassVar[str] = "tune"
    policy: str
    limit_days: float | None = None  # limit of days below the dose target a year; the site's when None
    only: tuple[str, ...] = ()  # what is turned; all when empty
    units: Units = "us"  # of what is told while the search goes on

    @property
    def limits(self) -> Limits:
        """What is accepted."""
        stated = limits_of(self.site.scenario.goals)
        return stated if self.limit_days is None else replace(stated, days_below_target=self.limit_days)

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        super().check()
        policy, limit = self.site.policy(self.policy), self.limits.days_below_target
        if not 0 <= limit <= 366:
            raise InputError(f"limit-days is {limit:g}; wanted 0 to 366")
        chosen_dials(dials(self.site.scenario, policy, self.years), self.only)

    def _so_far(self, runner: StudyRunner, what: str) -> SoFar | None:
        if what == UPPER_TENTH:
            return None
        own = self.site.policy(self.policy)
        found = chosen_dials(dials(self.site.scenario, own, self.years), self.only)

        def called(design: Design, policy: Policy) -> str:
            del design
            return changed_words(found, point_of(policy, found), self.units)

        return so_far(runner, called)

    def answer(self, means: Means) -> TuneAnswer:
        """Search."""
        scenario, policy = self.site.scenario, self.site.policy(self.policy)
        found = tune_study(
            scenario, policy, means.opener(self.inputs, self._so_far), self.limits, self.worth,
            self.replications, self.years, self.only,
        )  # fmt: skip
        manifest = self.manifest([self.policy], self.replications, self.replications, "complete") | {
            "command": self.kind,
            "runs": found.runs,
            "worth": self.worth,
            "limit_days": self.limits.days_below_target,
            "only": list(self.only),
        }
        return TuneAnswer(found, manifest)
