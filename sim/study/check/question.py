"""What does a site come to on paper, and what is out of good practice?"""

from dataclasses import dataclass
from typing import ClassVar

from sim.scenario.values.ranges import believed, outside
from sim.study.check.finding import Finding
from sim.study.check.site_check import figures
from sim.study.check.site_draws import recorded_draws
from sim.study.question import Site
from sim.study.runs.means import Means
from sim.study.search.alternatives import check_alternatives
from sim.units import Units


@dataclass(frozen=True)
class CheckAnswer:
    """The design figures of a site, those that are out of good practice marked."""

    kind: ClassVar[str] = "check"
    findings: tuple[Finding, ...]


@dataclass(frozen=True, kw_only=True)
class CheckQuestion:
    """Check a site without running it, in "us" or "si" units."""

    kind: ClassVar[str] = "check"
    site: Site
    units: Units = "us"

    def check(self) -> None:
        """Refuse a site whose alternatives will not do; else one that could be read can be checked."""
        check_alternatives(self.site.scenario)

    def answer(self, means: Means) -> CheckAnswer:
        """Check it."""
        del means
        scenario, rain, draws = self.site.scenario, self.site.rain, self.site.draws
        beyond = [
            Finding("extrapolated", key, believed(key), warning=True)
            for key in outside(scenario, rain, draws)
        ]
        held = recorded_draws(scenario, draws, self.units)
        return CheckAnswer((*figures(scenario, self.units, rain), *held, *beyond))
