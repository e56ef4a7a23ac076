"""What did gauges and lamp show on these days? Every step of some days of one run."""

from dataclasses import dataclass
from typing import ClassVar

import pandas as pd

from sim.outcome.closeup import closeup
from sim.scenario.gravity import check_pumped
from sim.study.one_run.question import OneOfMany
from sim.study.runs.means import Means
from sim.twin.window import window

CLOSE_DAYS = 28  # looked at closely at once: a click to a day nearby then needs no new run


@dataclass(frozen=True)
class CloseUpAnswer:
    """Some days of one run as tables, see `sim.outcome.closeup.closeup`."""

    kind: ClassVar[str] = "close-up"
    tables: dict[str, pd.DataFrame]


@dataclass(frozen=True, kw_only=True)
class CloseUpQuestion(OneOfMany):
    """Look closely at some days of one run, from the first of them on."""

    kind: ClassVar[str] = "close-up"
    first_day: int

    def check(self) -> None:
        """Refuse what cannot be answered."""
        check_pumped(self.site.scenario.cistern, "a look at single days")
        super().check()

    def answer(self, means: Means) -> CloseUpAnswer:
        """Run it up to these days, in this process, and keep every step of them."""
        del means
        policy = self.site.policy(self.policy)
        found = window(self.site.scenario, policy, self.common, self.first_day, CLOSE_DAYS)
        return CloseUpAnswer(closeup(found))
