"""What a program may call: these names stay as they are told in DEVELOPERS; all others may move.

A site goes in, an answer comes out; numbers are SI, cost is a year's. `ask` takes any question, with `Means`
to say how many processes do the runs and where finished ones are kept.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from sim.errors import InputError
from sim.scenario.quotation import Item
from sim.scenario.read import load as scenarios
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.scenario.read.series import read_rain
from sim.scenario.sizing import Given
from sim.study.check.question import CheckAnswer, CheckQuestion
from sim.study.compare.question import CompareAnswer, CompareQuestion
from sim.study.one_run.question import RunAnswer, RunQuestion
from sim.study.question import Site
from sim.study.questions import ask
from sim.study.runs.means import Means
from sim.study.search.alternatives import variant
from sim.study.sheet.question import SheetAnswer, SheetQuestion
from sim.study.size.question import SizeAnswer, SizeQuestion
from sim.study.tune.question import TuneAnswer, TuneQuestion

__all__ = [
    "InputError",
    "Means",
    "Site",
    "ask",
    "changed",
    "check",
    "compare",
    "load",
    "run",
    "sheet",
    "size",
    "tune",
]


def load(site: str | Path = scenarios.DEMO, rain: str | Path | None = None) -> Site:
    """Read a site, by its file or a built-in name, with a record of daily rain where there is one.

    Raises
    ------
    InputError
        One line, when it cannot be used.
    """
    scenario = scenarios.load(str(site))
    record = rain or scenario.rain.record
    return Site(scenario, read_rain(Path(record), scenario.rain) if record else None)


def changed(site: Site, values: Mapping[str, Given]) -> Site:
    """Return a site with other values, such as {"uv.rated_flow": "12 gpm"}, and what goes with a size."""
    made = variant(tables_of(site.scenario), dict(values))
    return Site(scenario_of(made, "changed"), site.rain, site.draws)


def check(site: Site) -> CheckAnswer:
    """Hold a design against its criteria, without running it."""
    return ask(CheckQuestion(site=site, units="si"))


def compare(
    site: Site, policies: Sequence[str] = (), years: int = 5, replications: int | None = None, seed: int = 1,
    workers: int = 1,
) -> CompareAnswer:  # fmt: skip
    """Compare policies, all of them where none is named, through the same weather, draws and failures."""
    asked = CompareQuestion(
        site=site, policies=_named(site, policies), years=years, replications=replications, seed=seed
    )
    return ask(asked, Means(workers))


def run(site: Site, policy: str, years: int = 5, seed: int = 1, replication: int = 0) -> RunAnswer:
    """Run one policy once; its tables are days, events and all that was kept of the run."""
    return ask(RunQuestion(site=site, policy=policy, years=years, seed=seed, replication=replication))


def size(
    site: Site, tries: Sequence[str] = (), policies: Sequence[str] = (), items: Sequence[Item] = (),
    worth: float = 25.0, years: int = 5, replications: int = 20, seed: int = 1, workers: int = 1,
    limit_tap_pa: float | None = None, intervals: Sequence[str] = (),
) -> SizeAnswer:  # fmt: skip
    """Search for the sizes, or among quoted items, that cost least within the limits and criteria.

    Intervals named as `tune` names them, such as "wipe sleeve and window", are chosen with the sizes.
    """
    asked = SizeQuestion(
        site=site, policies=_named(site, policies), tries=tuple(tries), items=tuple(items), worth=worth,
        years=years, replications=replications, seed=seed, units="si",
        limit_tap_pa=limit_tap_pa, intervals=tuple(intervals),
    )  # fmt: skip
    return ask(asked, Means(workers))


def tune(
    site: Site, policy: str, worth: float = 25.0, years: int = 5, replications: int = 20, seed: int = 1,
    workers: int = 1,
) -> TuneAnswer:  # fmt: skip
    """Search for the intervals of a policy that cost least within the limits."""
    asked = TuneQuestion(
        site=site, policy=policy, worth=worth, years=years, replications=replications, seed=seed
    )
    return ask(asked, Means(workers))


def sheet(
    site: Site, policy: str = "", years: int = 5, replications: int = 20, start: date | None = None,
    workers: int = 1,
) -> SheetAnswer:  # fmt: skip
    """Return what stands on the design sheet of a site."""
    asked = SheetQuestion(
        site=site,
        policy=policy,
        years=years,
        replications=replications,
        start=start or date.today(),
        units="si",
    )
    return ask(asked, Means(workers))


def _named(site: Site, policies: Sequence[str]) -> tuple[str, ...]:
    return tuple(policies) or tuple(policy.name for policy in site.scenario.policies)
