"""What questions have in common: a site with its recorded series, how long it is run, from which seed."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Protocol, TypeVar

from sim.constants import MOST_YEARS
from sim.errors import InputError
from sim.scenario.care import Policy
from sim.scenario.nearest import nearest
from sim.scenario.read.series import RainRecord
from sim.scenario.scenario import Scenario
from sim.scenario.values.digest import digest, draws_digest
from sim.study import draws_record, rain_record
from sim.study.runs import store
from sim.study.runs.means import Means
from sim.study.runs.quota import in_range
from sim.study.runs.request import Inputs
from sim.study.taken import Taken

Answer_co = TypeVar("Answer_co", covariant=True)


@dataclass(frozen=True)
class Site:
    """A scenario with its recorded rain and draws, where there are any."""

    scenario: Scenario
    rain: RainRecord | None = None
    draws: dict[str, Any] | None = None
    took: Taken | None = None  # what the files and options came to, for the manifest and the screen

    @property
    def said(self) -> list[str]:
        """What an answer says of the recorded series it rests on."""
        return [*rain_record.said(self.rain), *draws_record.said((self.took or {}).get("draws"))]

    @cached_property
    def digest(self) -> str:
        """What names the site by its content."""
        series = [self.rain.digest] if self.rain else []
        return digest(self.scenario, *series, *filter(None, [draws_digest(self.draws)]))

    def policies(self, names: Sequence[str]) -> tuple[Policy, ...]:
        """Return the policies of some names; refused when there is none of a name; the nearest is offered."""
        known = {policy.name: policy for policy in self.scenario.policies}
        for name in names:
            if name not in known:
                raise InputError(f"policy {name!r} is unknown; {nearest(name, known)}")
        return tuple(known[name] for name in names)

    def policy(self, name: str) -> Policy:
        """Return the policy of a name, see `policies`."""
        return self.policies([name])[0]


class Question(Protocol[Answer_co]):
    """What can be asked about a site."""

    kind: ClassVar[str]

    @property
    def site(self) -> Site:
        """The site that is asked about."""
        ...

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        ...

    def answer(self, means: Means) -> Answer_co:
        """Answer it; what it says is the same whatever the means."""
        ...


@dataclass(frozen=True, kw_only=True)
class Simulated:
    """What questions share that simulate the house."""

    site: Site
    years: int
    seed: int = 1

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        in_range("seed", self.seed, 0)
        in_range("years", self.years, 1, MOST_YEARS)

    @property
    def inputs(self) -> Inputs:
        """What all runs share."""
        return Inputs(self.seed, self.years, self.site.rain, self.site.draws)

    def manifest(
        self, policies: Sequence[str], finished: int, wanted: int, because: str, reference: str = ""
    ) -> dict[str, Any]:
        """Return what is needed to make the same rows again; the first policy is the reference if none is."""
        return store.manifest(
            self.site.scenario.name, self.site.digest, policies, self.seed, self.years, finished, wanted,
            because, reference or policies[0],
        ) | ({} if self.site.took is None else {"took": self.site.took})  # fmt: skip
