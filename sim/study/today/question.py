"""How does this house stand today? State, next acts, what waiting costs, what to read, the score so far."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import ClassVar

import numpy as np

from sim.diary.book import Diary
from sim.diary.doubt import doubts
from sim.diary.evidence import unused
from sim.diary.followed import check_followed
from sim.diary.forecast import (
    LATE_QUANTILE,
    UV_PART,
    Forecast,
    calendar_days,
    line_of,
    members_of,
)
from sim.diary.outlook import HORIZON_DAYS
from sim.diary.parts.axes import Floats
from sim.diary.paths import COUNT
from sim.diary.picture import Picture, Setting, diary_digest, of_paths, picture, ready
from sim.diary.score import Score, Scored, score, scored
from sim.errors import InputError
from sim.study.question import Site
from sim.study.runs.means import Means
from sim.study.runs.quota import in_range
from sim.study.today import words
from sim.study.today.alerts import alerts
from sim.study.today.parts import PartToday, parts_today
from sim.study.today.visit import TOGETHER_DAYS, NextVisit, next_visit
from sim.study.today.waiting import Waiting, waiting
from sim.study.today.wishes import Wish, wishes
from sim.units import Units

MOST_AWAY = 10
ROUGH = 16  # paths of a first answer


@dataclass(frozen=True)
class Away:
    """An absence to come: its first and its last day."""

    first: date
    last: date


@dataclass(frozen=True)
class TodayAnswer:
    """How a house stands.

    Attributes
    ----------
    alerts : tuple of str
        What stands before all else.
    begun : bool
        Whether anything was read or noted by then.
    sentence : str
        All of it in one sentence.
    parts : tuple of PartToday
        In the order of the water.
    lines : tuple of str
        The same in words, a sentence each.
    visit : NextVisit or None
        What is done next, together.
    waiting : tuple of Waiting
        What waits of one, two and three months cost.
    wishes : tuple of Wish
        Readings that would help, the most useful first.
    unfit, asked, unused : tuple of str
        What does not fit, questions about single readings, and what is kept without weight, in words.
    away : tuple of str
        What to do before and after absences.
    forecasts : tuple of Forecast
        Made now, to be kept.
    scored : tuple of Scored
        Earlier ones and what came.
    score : Score
        All of them together.
    score_words : str
        The same in words.
    rough : bool
        Whether it is a first look along few paths, with the rest still to come.
    """

    kind: ClassVar[str] = "today"
    as_of: date
    alerts: tuple[str, ...]
    readings: int
    acts: int
    begun: bool
    sentence: str
    parts: tuple[PartToday, ...]
    lines: tuple[str, ...]
    visit: NextVisit | None
    waiting: tuple[Waiting, ...]
    waiting_words: str
    wishes: tuple[Wish, ...]
    wish_words: tuple[str, ...]
    unfit: tuple[str, ...]
    asked: tuple[str, ...]
    unused: tuple[str, ...]
    away: tuple[str, ...]
    forecasts: tuple[Forecast, ...]
    scored: tuple[Scored, ...]
    score: Score
    score_words: str
    rough: bool = False


@dataclass(frozen=True, kw_only=True)
class TodayQuestion:
    """Ask how a house stands at the end of a day.

    Attributes
    ----------
    diary : Diary
        What was read and done; what comes after that day is left out.
    earlier : tuple of Forecast
        Forecasts that were kept.
    count : int
        Paths, a power of two.
    """

    kind: ClassVar[str] = "today"
    site: Site
    diary: Diary
    today: date
    away: tuple[Away, ...] = ()
    earlier: tuple[Forecast, ...] = ()
    together_days: int = TOGETHER_DAYS
    units: Units = "us"
    count: int = COUNT

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_followed(self.site.scenario)
        in_range("count", self.count, 2, 4096)
        if len(self.away) > MOST_AWAY:
            raise InputError(f"--away: {len(self.away)} absences; wanted {MOST_AWAY} at most")
        for one in self.away:
            if one.last < one.first:
                raise InputError(f"--away: ends on {one.last}, before it begins; wanted FIRST to LAST")
            if one.last < self.today:
                raise InputError(f"--away: ended on {one.last}, before {self.today}; wanted one to come")

    def answer(self, means: Means) -> TodayAnswer:
        """Answer it; paths are kept in the folder of the means, or made for this answer alone."""
        if means.folder is not None:
            return self._answer(means, means.folder)
        with TemporaryDirectory() as folder:
            return self._answer(means, Path(folder))

    def _answer(self, means: Means, folder: Path) -> TodayAnswer:
        setting = Setting(
            self.site.scenario, self.site.rain, self.today, tuple((one.first, one.last) for one in self.away),
            folder, means.workers, self.count, lambda done, of: means.tell(done, of, "paths"),
        )  # fmt: skip
        if means.on_partial is not None and self.count > ROUGH and not ready(setting, self.diary):
            means.on_partial(self._told(replace(setting, count=ROUGH), rough=True))
        return self._told(setting, rough=False)

    def _told(self, setting: Setting, rough: bool) -> TodayAnswer:
        scenario, known = self.site.scenario, self.diary.until(self.today)
        seen = picture(setting, known)
        bare = of_paths(setting, Diary((), known.acts), seen.paths) if known.readings else seen
        parts = parts_today(scenario, seen, self.today)
        visit = next_visit(scenario, parts, self.today, self.together_days) if known.begun else None
        made = tuple(self._forecasts(seen, bare, known, parts))
        came = scored(self.earlier, scenario, known, self.today)
        total = score(came)
        waits, wanted = waiting(scenario, seen), wishes(scenario, seen)
        return TodayAnswer(
            self.today,
            alerts(scenario, known),
            len(known.readings),
            len(known.acts),
            known.begun,
            words.sentence(scenario, parts, visit, known, self.today),
            parts,
            tuple(words.line(part, self.today, self.units, known.begun) for part in parts),
            visit,
            waits,
            words.waiting_words(waits, scenario.prices.currency, known.begun),
            wanted,
            tuple(words.wish_line(one) for one in wanted),
            tuple(words.misfit_line(one, self.units) for one in seen.misfits),
            tuple(f"{one.reading.at:%Y-%m-%d}: {one.question}" for one in doubts(known.readings, scenario)),
            unused(known.readings),
            tuple(words.away_line(one.first, one.last, parts) for one in self.away),
            made,
            came,
            total,
            words.score_words(total),
            rough,
        )

    def _forecasts(
        self, seen: Picture, bare: Picture, known: Diary, parts: tuple[PartToday, ...]
    ) -> list[Forecast]:
        """Return what is foretold of each part whose readings fit: when its reading passes its limit."""
        good = {part.name for part in parts if part.fits}
        limits = {
            part.name: (outlook.limit_pa, outlook.drop_days, bare.stages[k].drop_days)
            for k, (part, outlook) in enumerate(zip(seen.parts.stages, seen.stages, strict=True))
        }
        limits[UV_PART] = (self.site.scenario.uv.alarm, seen.uv.alarm_days, bare.uv.alarm_days)
        digest = diary_digest(known)
        return [self._forecast(name, *limits[name], known, digest) for name in limits if name in good]

    def _forecast(
        self, name: str, limit: float, days: Floats, prior: Floats, known: Diary, digest: str
    ) -> Forecast:
        scenario = self.site.scenario
        return Forecast(
            self.today, name, limit, float(HORIZON_DAYS), members_of(days), members_of(prior),
            round(float(np.quantile(days, LATE_QUANTILE)), 2),
            round(calendar_days(scenario, known, name, self.today), 2),
            round(line_of(scenario, known, name, self.today, limit), 2), digest,
        )  # fmt: skip
