"""When does who come, and for what? The service calendar of a year."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, ClassVar

import pandas as pd

from sim.errors import InputError
from sim.scenario.gravity import check_pumped
from sim.study.question import Site
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.visits.expected import Clean
from sim.study.visits.service_sheet import minutes, numbered, parts, summary
from sim.study.visits.visits import Visit, visits

MOST_DAYS = 366


@dataclass(frozen=True)
class VisitsAnswer:
    """The visits of a year in order, the same in words, and as a table of one row a visit."""

    kind: ClassVar[str] = "visits"
    visits: tuple[Visit, ...]
    summary: str
    table: pd.DataFrame


@dataclass(frozen=True, kw_only=True)
class VisitsQuestion:
    """Plan the visits of the year from a date on.

    Attributes
    ----------
    done : dict of str to date
        When tasks were last done, by label; others count as done on the first day.
    together_days : int
        What falls due so soon is done with.
    """

    kind: ClassVar[str] = "visits"
    site: Site
    policy: str
    start: date
    done: dict[str, date]
    together_days: int
    clean: Clean | None = None  # the last reading after a full cleaning

    def check(self) -> None:
        """Refuse what cannot be answered."""
        check_pumped(self.site.scenario.cistern, "visits")
        if not 0 <= self.together_days <= MOST_DAYS:
            raise InputError(f"--together is {self.together_days} days; wanted 0 to {MOST_DAYS}")
        self.site.policy(self.policy)

    @property
    def manifest(self) -> dict[str, Any]:
        """What is needed to make the same calendar again."""
        site = self.site
        return {
            **store.program(), "site": site.scenario.name, "scenario_digest": site.digest,
            "policy": self.policy,
            "start": str(self.start), "done": {label: str(on) for label, on in self.done.items()},
            "together_days": self.together_days, "took": site.took,
        }  # fmt: skip

    def answer(self, means: Means) -> VisitsAnswer:
        """Plan them."""
        del means
        scenario, policy = self.site.scenario, self.site.policy(self.policy)
        found = visits(scenario, policy, self.start, self.done, timedelta(days=self.together_days))
        rows = [
            {
                "sheet": number,
                "date": visit.on,
                "who": visit.who,
                "tasks": "; ".join(job.label for job in visit.jobs),
                "minutes": minutes(scenario, visit),
                "parts": "; ".join(f"{part.count} x {part.name}" for part in parts(scenario, visit)),
            }
            for number, visit in numbered(found)
        ]
        table = pd.DataFrame(rows, columns=["sheet", "date", "who", "tasks", "minutes", "parts"])
        return VisitsAnswer(found, summary(scenario, policy, found, self.start), table)
