"""What does a site come to on paper, and what is out of good practice?"""

from dataclasses import dataclass
from typing import ClassVar

from sim.scenario.values.ranges import believed, outside
from sim.study.asked import Site
from sim.study.check.finding import Finding
from sim.study.check.site_check import figures
from sim.study.runs.means import Means


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
    units: str = "us"

    def check(self) -> None:
        """Refuse nothing: a site that could be read can be checked."""

    def answer(self, means: Means) -> CheckAnswer:
        """Check it."""
        del means
        scenario, rain = self.site.scenario, self.site.rain
        beyond = [
            Finding("extrapolated", key, believed(key), warning=True) for key in outside(scenario, rain)
        ]
        return CheckAnswer((*figures(scenario, self.units, rain), *beyond))
