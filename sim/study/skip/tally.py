"""What some days held in both runs by logged cause: counted, and in words."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from sim.outcome.causes import cause_of_alarms, cause_of_days
from sim.plant import cause
from sim.plant.cause import CAUSES
from sim.study.compare.causes_said import ORIGINS
from sim.study.dates import spelled
from sim.study.wording import listed
from sim.twin.history import History

Table = npt.NDArray[np.float64]  # by day and cause


@dataclass(frozen=True)
class Tally:
    """A measure by cause, skipped and kept, each a dictionary from the name of a cause."""

    skipped: dict[str, float]
    kept: dict[str, float]

    @property
    def totals(self) -> tuple[float, float]:
        """Sums, skipped and kept."""
        return sum(self.skipped.values()), sum(self.kept.values())

    def __add__(self, other: "Tally") -> "Tally":
        """Return the tally of this time and another."""
        return Tally(_sums(self.skipped, other.skipped), _sums(self.kept, other.kept))

    def differs(self, least: float) -> bool:
        """Return whether some cause took more than a least amount more or less of the skipped run.

        Parameters
        ----------
        least : float
            In the unit of the measure; one cause set against another does not cancel.
        """
        names = {*self.skipped, *self.kept}
        return any(abs(self.skipped.get(name, 0.0) - self.kept.get(name, 0.0)) > least for name in names)


def _sums(one: dict[str, float], other: dict[str, float]) -> dict[str, float]:
    found = {name: one.get(name, 0.0) + other.get(name, 0.0) for name in CAUSES}
    return {name: amount for name, amount in found.items() if amount}


@dataclass(frozen=True)
class Booked:
    """What both runs had each day by cause: days below target, days of alarm, hours without water."""

    below: tuple[Table, Table]
    alarm: tuple[Table, Table]
    off_h: tuple[Table, Table]

    @staticmethod
    def of(skipped: History, kept: History) -> "Booked":
        """Return what two runs had."""
        runs = (skipped, kept)
        below, alarm = ([_marks(find(run)) for run in runs] for find in (cause_of_days, cause_of_alarms))
        off = [run.causes[:, :, cause.OFF] / 3600.0 for run in runs]
        return Booked((below[0], below[1]), (alarm[0], alarm[1]), (off[0], off[1]))


def _marks(codes: npt.NDArray[np.int64]) -> Table:
    found: Table = (codes[:, None] == np.arange(len(CAUSES))).astype(float)
    return found


def tally(both: tuple[Table, Table], days: slice) -> Tally:
    """Return the sums of some days."""
    sums = [run[days].sum(axis=0) for run in both]
    found = [{name: float(one) for name, one in zip(CAUSES, run, strict=True) if one} for run in sums]
    return Tally(found[0], found[1])


def origins(
    found: Tally, amount: Callable[[float], str], least: float, begun: dict[str, date] | None = None
) -> str:
    """Return the amounts by cause, the most first, each with what it was in the kept run if that had any.

    Parameters
    ----------
    least : float
        What neither run passed of a cause is told only of the one with most.
    begun : dict of str to date, optional
        First day of a cause, told where the skipped run had more of it.
    """
    told = sorted(CAUSES, key=lambda name: -found.skipped.get(name, 0.0))
    amounts = [(name, found.skipped.get(name, 0.0), found.kept.get(name, 0.0)) for name in told]
    said = []
    for name, mine, theirs in amounts:
        if max(mine, theirs) <= least and not (mine and name == told[0]):
            continue
        on = f", the first on {spelled(begun[name])}" if begun and name in begun and mine > theirs else ""
        beside = f" (kept: {amount(theirs)})" if found.totals[1] else ""
        said.append(f"{amount(mine)} {ORIGINS[name]}{on}{beside}")
    return listed(said)


def firsts(both: tuple[Table, Table], from_day: int, start: date) -> dict[str, date]:
    """Return the first day on which each cause had a part in the skipped run, from a day on."""
    after = both[0][from_day:] > 0.0
    return {
        name: start + timedelta(days=from_day + int(np.argmax(after[:, code])))
        for code, name in enumerate(CAUSES)
        if after[:, code].any()
    }


def whole(found: Tally, what: str, amount: Callable[[float], str], least: float) -> str:
    """Return totals and causes of a measure, skipped and kept.

    Parameters
    ----------
    what : str
        Such as "water off {} h".
    """
    mine, theirs = found.totals
    why = origins(found, amount, least)
    return f"{what.format(amount(mine))} (kept: {amount(theirs)}){f': {why}' if why else ''}"
