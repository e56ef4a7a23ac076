"""How does a site stand to the criteria of a design, and what does it come to on paper?"""

from dataclasses import dataclass
from typing import ClassVar

from sim.scenario.values.ranges import believed, outside
from sim.study.check.criteria import judged, verdict
from sim.study.check.criterion import Judged
from sim.study.check.design_flow import Peak, chosen_words, design_flow_m3_s, peaks
from sim.study.check.finding import Finding
from sim.study.check.site_check import figures
from sim.study.check.site_draws import recorded_draws
from sim.study.question import Site
from sim.study.runs.means import Means
from sim.study.search.alternatives import check_alternatives
from sim.units import Units, text


@dataclass(frozen=True)
class CheckAnswer:
    """How a site stands to each criterion, the peaks beside each other, and its other figures."""

    kind: ClassVar[str] = "check"
    criteria: tuple[Judged, ...]
    peaks: tuple[Peak, ...]
    design_flow: str  # the flow the design is judged at, and how it was chosen
    verdict: str
    findings: tuple[Finding, ...]  # figures that no criterion has, those out of good practice marked


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
        flow_m3_s = design_flow_m3_s(scenario)
        flow = "not known" if flow_m3_s is None else text(flow_m3_s, "flow", self.units)
        found = judged(scenario, self.units, rain)
        return CheckAnswer(
            criteria=found,
            peaks=tuple(peaks(scenario)),
            design_flow=f"{flow}, {chosen_words(scenario)}",
            verdict=verdict(found),
            findings=(*figures(scenario, self.units, rain), *held, *beyond),
        )
