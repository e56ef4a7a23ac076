"""What does a design come to, for a client to read and to sign?"""

from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from sim.errors import InputError
from sim.scenario.gravity import check_pumped
from sim.study.check.criterion import Judged
from sim.study.check.in_runs import with_runs
from sim.study.check.question import CheckAnswer, CheckQuestion
from sim.study.compare.headline import spoken_of
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.question import Simulated
from sim.study.runs.means import Means
from sim.study.visits.question import VisitsAnswer, VisitsQuestion
from sim.units import Units

TOGETHER_DAYS = 7


@dataclass(frozen=True)
class SheetAnswer:
    """What stands on a design sheet."""

    kind: ClassVar[str] = "sheet"
    policy: str  # the way of looking after it that is planned
    check: CheckAnswer
    criteria: tuple[Judged, ...]  # of the check, with what the runs made known
    compared: CompareAnswer
    visits: VisitsAnswer
    manifest: dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class SheetQuestion(Simulated):
    """Make the design sheet of a site; the policy that is advised is planned where none is named."""

    kind: ClassVar[str] = "sheet"
    start: date  # of the year of work
    policy: str = ""
    replications: int = 20
    revision: str = "draft"
    units: Units = "us"

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_pumped(self.site.scenario.cistern, "the design sheet")
        super().check()
        if self.policy:
            self.site.policy(self.policy)
        if not 1 <= len(self.revision) <= 20 or not self.revision.isprintable():
            raise InputError(f"revision: read {self.revision!r}; wanted 1 to 20 characters on one line")
        self._compared.check()

    @property
    def _compared(self) -> CompareQuestion:
        names = tuple(policy.name for policy in self.site.scenario.policies)
        return CompareQuestion(
            site=self.site, policies=names, years=self.years, seed=self.seed, replications=self.replications
        )

    def answer(self, means: Means) -> SheetAnswer:
        """Check it, compare the ways of looking after it, plan the year of one."""
        checked = CheckQuestion(site=self.site, units=self.units).answer(means)
        compared = self._compared.answer(means)
        policy = self.policy or spoken_of(compared.comparison).policy
        planned = VisitsQuestion(
            site=self.site, policy=policy, start=self.start, done={}, together_days=TOGETHER_DAYS
        ).answer(means)
        return SheetAnswer(
            policy=policy,
            check=checked,
            criteria=with_runs(checked.criteria, compared.comparison, compared.rows, policy, self.units),
            compared=compared,
            visits=planned,
            manifest=compared.manifest | {"command": self.kind, "planned": policy, "revision": self.revision},
        )
