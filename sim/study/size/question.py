"""Which sizes cost least within the limits? Cartridges, UV unit, tank, pump and cistern."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from sim.errors import InputError
from sim.scenario.care import Policy
from sim.scenario.gravity import check_pumped
from sim.scenario.quotation import Item
from sim.scenario.sizing import Alternative
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.request import Design
from sim.study.runs.runner import StudyRunner
from sim.study.search.alternatives import Choice, choices, gathered
from sim.study.search.catalogue import yearly
from sim.study.search.limits import Limits, limits_of
from sim.study.search.question import Searched
from sim.study.search.search_tables import mover_frame, rule_frame, step_frame
from sim.study.search.so_far import SoFar, so_far
from sim.study.size.size_words import size_sentences
from sim.study.size.sizes import SEARCHED, SizeStudy, size_study
from sim.study.size.with_intervals import suited, turned
from sim.study.stated_lives import lives_note
from sim.units import Units, parse, text


def tap_limit_pa(words: str | None) -> float | None:
    """Read the pressure that 19 of 20 draws are to have, such as "20 psi"; none where nothing is written."""
    if words is None:
        return None
    try:
        return parse(words, "pressure")
    except InputError as error:
        raise InputError(f"limit-tap: read {words!r}; {error}") from None


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

    limit_tap_pa: float | None = None  # pressure that 19 of 20 draws are to have at the tap; none when None

    # intervals and thresholds that are chosen together with the sizes, by the names `tune` has for them
    intervals: tuple[str, ...] = ()

    @property
    def limits(self) -> Limits:
        """What is accepted."""
        stated = limits_of(self.site.scenario.goals)
        return stated if self.limit_tap_pa is None else replace(stated, tap_pa=self.limit_tap_pa)

    @property
    def alternatives(self) -> list[Alternative]:
        """What is chosen between."""
        return gathered(self.site.scenario, self.tries, self.items)

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_pumped(self.site.scenario.cistern, "size")
        super().check()
        self.check_tap()
        self.site.policies(self.policies)
        for one in self.designs():
            check_pumped(one.design.scenario.cistern, "size")

    def check_tap(self) -> None:
        """Refuse a pressure at the tap that no tank has."""
        if not 0 <= (self.limit_tap_pa or 0.0) <= self.site.scenario.switch.cut_out_pa:
            most = text(self.site.scenario.switch.cut_out_pa, "pressure", self.units)
            asked = text(self.limit_tap_pa or 0.0, "pressure", self.units)
            raise InputError(f"limit-tap is {asked}; wanted 0 to {most}, where the pump stops")

    def designs(self) -> list[Choice]:
        """Return every design under its policies, at every setting where intervals are chosen too."""
        made = choices(self.site.scenario, self.alternatives, self.policies, self.items)
        return turned(made, self.intervals, self.years, self.units) if self.intervals else made

    def _so_far(self, runner: StudyRunner, what: str) -> SoFar | None:
        if what != SEARCHED:
            return None
        house, several = self.site.scenario, len(self.policies) > 1 or bool(self.intervals)

        def called(design: Design, policy: Policy) -> str:
            return f"{design.label} ({policy.name})" if several else design.label

        return so_far(runner, called, [yearly(one.scenario, house) for one in runner.designs])

    def answer(self, means: Means) -> SizeAnswer:
        """Search."""
        scenario, made = self.site.scenario, self.designs()
        found = size_study(
            scenario, self.alternatives, made, means.opener(self.inputs, self._so_far), self.worth,
            self.replications, self.full, self.units, self.site.rain, items=self.items,
            by_criteria=self.by_criteria, limits=self.limits,
        )  # fmt: skip
        manifest = self.manifest(self.policies, self.replications, self.replications, "complete") | {
            "command": self.kind,
            "runs": len(found.rows),
            "worth": self.worth,
            "full": self.full,
            "intervals": list(self.intervals),
            "limit_tap_pa": self.limit_tap_pa,
            "alternatives": {one.key: [str(value) for value in one.values] for one in self.alternatives},
        }
        currency = scenario.prices.currency
        beside = [suited(found.lines, currency) if self.intervals else "", _lives(found, made)]
        return SizeAnswer(
            found,
            (*size_sentences(found, currency, self.units), *filter(None, beside), *self.site.said),
            manifest,
        )


def _lives(study: SizeStudy, made: Sequence[Choice]) -> str:
    """Return what the way that goes with the choice may leave in for longer than stated."""
    chosen = study.found.chosen
    if chosen is None:
        return ""
    design = made[chosen.design].design
    return lives_note([design.policies[chosen.policy]], design.scenario)
