"""A case as it is played: time passes, something is looked at or done, and only what shows is told.

A pure engine: the same case and the same moves give the same words and the same numbers. What is staged stays
inside; pages and commands get words, and the truth only from `reveal`.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from sim.constants import DAY_S, HOUR_S
from sim.drill.case import RELIEVED, YEARS, Case, Move, Staged
from sim.drill.families import Family, family, other_acts, possible
from sim.drill.log import Belief, Log
from sim.drill.sight import CHECKS, Seen, drops_pa, labels, opens, passing, tells
from sim.drill.usual import usual
from sim.errors import InputError
from sim.plant import state
from sim.scenario.effects import SlipEffect
from sim.scenario.nearest import nearest
from sim.scenario.read import load
from sim.twin.common import Common
from sim.twin.run import common_inputs
from sim.twin.staging import nothing_else_fails
from sim.twin.steered import Steered
from sim.units import Units

MORNING_S, NIGHT_S = 8 * HOUR_S, 3 * HOUR_S
UNTIL = "until something happens"
ROUND_DAYS = 14  # after which somebody goes round whatever shows: common practice, no source [A]
SOUNDED = "The alarm has been sounding all the while."
ROUND_DUE = "Nothing sudden showed for two weeks: time for a round of what has to be looked at to be seen."
GAUGES = "gauges"  # the check that notes them anew
NOTED = "On day "  # what a look showed then, after what it shows now
HANDLES, SENSOR, SWITCH, TANKER = (
    "put handles and plug right",
    "replace the sensor",
    "set the pressure switch",
    "order a tanker",
)
HANDLE_EFFECTS: tuple[SlipEffect, ...] = ("water shut", "pump off", "unit dark", "bypass open")
SENSOR_EFFECTS: tuple[SlipEffect, ...] = ("low reading",)
PUMP_WORK = {SWITCH, "set precharge", "new pump", "new pressure tank"}  # after which it may run otherwise
STOPPED = (
    "Stopped: it was opened with water at pressure behind it. At 60 psi (4 bar) a housing's cap is pushed "
    "with the weight of some 500 kg (1,100 lb), and a shut-off valve that closes with the plug makes the "
    "tap stop while the housing still stands at pressure. Relieve while lit, unplug after, open last."
)


@lru_cache(maxsize=4)
def _chance(site: str, seed: int) -> Common:
    return common_inputs(load.load(site), 0, seed, YEARS)


class Play:
    """One case, from the morning it is taken over."""

    def __init__(self, case: Case, units: Units = "us"):
        """Run the house up to the morning on which somebody else takes it over."""
        self._case, self.units, self.log = case, units, Log()
        self.scenario = case.scenario
        policy = self.scenario.policies[0]
        self._house = Steered(
            self.scenario, policy, _chance(case.site, case.seed), case.starts * DAY_S + MORNING_S
        )
        nothing_else_fails(self._house.world)
        self._left: list[tuple[float, Staged]] = [(one.day * DAY_S + NIGHT_S, one) for one in case.staged]
        self._staged: list[Family] = []
        self._mended: list[int] = []
        for one in case.staged:
            family(one.name).prepare(self._house.world)
        self._spent = self._money()
        self._usual = usual(self._house.world, self.day, drops_pa(self._house.world, case))
        self.notes = self._round()
        self._pass_to(self._house.now_s)

    @property
    def day(self) -> int:
        """The day of the run."""
        return int(self._house.now_s // DAY_S)

    @property
    def starts(self) -> int:
        """The day on which the house was taken over."""
        return self._case.starts

    @property
    def ends(self) -> int:
        """The day on which the case ends."""
        return self._case.ends

    @property
    def over(self) -> bool:
        """Whether the case has come to its end."""
        return bool(self.log.stopped) or self._house.now_s >= self._case.ends * DAY_S

    @property
    def acts(self) -> list[str]:
        """What can be done: the tasks of the site, and the rest."""
        return [*(task.name for task in self.scenario.tasks), *other_acts()]

    @property
    def causes(self) -> list[str]:
        """What can be believed."""
        return possible(self.scenario)

    @property
    def cost(self) -> float:
        """Money so far, time of looking and working included."""
        looked = self.log.minutes / 60.0 * self.scenario.people.owner_hour
        return self._money() - self._spent + looked

    def see(self) -> Seen:
        """Return what anyone at home sees now."""
        seen = passing(self._house.world, self._case, self._usual)
        self.log.displays[self.day] = seen.values.get("display", np.nan)
        return seen

    def move(self, move: Move) -> Seen:
        """Do one thing; return what it showed. Refused when it cannot be done, and when the case is over."""
        if self.over:
            raise InputError("the case is over; wanted the reveal")
        does = {"wait": self._wait, "check": self._check, "act": self._act, "believe": self._believe}
        seen = does[move.move](move)
        self.log.moves.append(move)
        self.log.said += [(self.day, words) for words in seen.words]
        return seen

    def finish(self) -> "Ended":
        """Let the rest of the case pass, and return what it came to."""
        self.log.asked_day = self.day
        self._pass_to(self._case.ends * DAY_S)
        self._house.world.note_day(self._case.ends - 1)  # which the next morning would have noted
        days = self._house.world.days[: self._case.ends]
        return Ended(
            self._case,
            self.log,
            days[:, state.BELOW_TARGET].copy(),
            days[:, state.WATER_OFF].copy() / 3600.0,
            self._house.world.daily[: self._case.ends, 2].copy(),
            self.cost,
            self._mended[0] if self._mended else None,
        )

    def _round(self) -> tuple[Seen, ...]:
        world = self._house.world
        checks = (check.look(world, self._case, self.units) for check in CHECKS.values())
        return (self.see(), labels(world, self.units), *checks)

    def _money(self) -> float:
        world = self._house.world
        costs, mains_m3 = world.costs, float(world.s["mains_m3"])
        bought = costs.water + world.scenario.prices.mains_m3 * mains_m3
        return costs.parts + costs.labour + costs.callouts + bought

    def _pass_to(self, time_s: float) -> None:
        """Let time pass; what is staged begins on its way."""
        while self._left and self._left[0][0] <= time_s:
            begins_s, one = self._left.pop(0)
            self._house.until(begins_s)
            found = family(one.name)
            found.set(self._house.world)
            self._staged.append(found)
        self._house.until(time_s)

    def _wait(self, move: Move) -> Seen:
        if move.what not in ("", UNTIL):
            raise InputError(f"wait: read {move.what!r}; wanted a number of days, or {UNTIL!r}")
        end = self._case.ends
        last = min(self.day + (ROUND_DAYS if move.what == UNTIL else move.days), end)
        seen = self.see()
        sounded, began = bool(seen.values["alarm"]), self.day
        while self.day < last and self._house.now_s < end * DAY_S:
            self._pass_to(min((self.day + 1) * DAY_S + MORNING_S, end * DAY_S))
            if self._house.now_s >= end * DAY_S:
                return Seen("wait", {}, ("The case has come to its end.",))
            before, seen = seen, self.see()
            sounded &= bool(seen.values["alarm"])
            if move.what == UNTIL and tells(before, seen):
                break
        else:
            if move.what == UNTIL:
                seen = replace(seen, words=(*seen.words, ROUND_DUE))
        return replace(seen, words=(*seen.words, SOUNDED)) if sounded and self.day > began + 1 else seen

    def _check(self, move: Move) -> Seen:
        if move.what not in CHECKS:
            raise InputError(f"check: no check {move.what!r}; {nearest(move.what, CHECKS)}")
        check = CHECKS[move.what]
        seen = check.look(self._house.world, self._case, self.units)
        self.log.looks.append((self.day, seen))
        if move.what == GAUGES:
            self._usual.note(seen.values)
        self.log.minutes += check.minutes
        self._pass_to(self._house.now_s + 60.0 * check.minutes)
        noted = next(one.words for one in self.notes if one.what == seen.what)
        if self.day == self.starts or noted == seen.words:
            return seen
        return replace(seen, words=(*seen.words, f"{NOTED}{self.starts}: {'; '.join(noted)}"))

    def _believe(self, move: Move) -> Seen:
        if move.what not in self.causes:
            raise InputError(f"believe: no cause {move.what!r}; {nearest(move.what, self.causes)}")
        self.log.beliefs.append(Belief(self.day, move.what, move.probability))
        return Seen("believe", {}, (f"Noted: {move.what}, {100.0 * move.probability:.0f} %.",))

    def _act(self, move: Move) -> Seen:
        task = self.scenario.task(move.what)
        if task is None and move.what not in other_acts():
            raise InputError(f"act: nothing to do is called {move.what!r}; {nearest(move.what, self.acts)}")
        if task is not None and opens(self.scenario, task.name) and move.order != RELIEVED:
            self.log.stopped = STOPPED
            return Seen("stopped", {}, (STOPPED,))
        effects = (move.what,) if task is None else task.effects
        mends, stood = self._mends(effects, move.stage), self._left_wrong()
        began_s = self._house.now_s
        if task is None:
            self._other(move.what)
        else:
            self._house.work(task, move.stage, task.technician_only)
            self._worked(began_s, 60.0 * task.minutes if task.technician_only else np.inf)
        self._pass_to(self._house.now_s)  # what fell due meanwhile
        self._note_work(effects)
        mends = mends or self._put_right(stood)
        named = f"{move.what}, {move.stage}" if task is not None and task.on_stage else move.what
        self.log.acts.append((self.day, named, mends))
        if mends:
            self._mended.append(self.day)
        return Seen("act", {}, (f"Done: {named}.", *self.see().words[:2]))

    def _note_work(self, effects: tuple[str, ...]) -> None:
        """Let the house be known anew by those who worked in it, who read the gauges."""
        known = self._usual
        known.note(drops_pa(self._house.world, self._case))
        known.worked_day = self.day
        if PUMP_WORK & set(effects):
            known.pump_day = self.day

    def _worked(self, began_s: float, most_s: float) -> None:
        """Remember how long of this day somebody was at work, without the wait before."""
        worked = self._usual.worked_s
        worked[self.day] = worked.get(self.day, 0.0) + min(self._house.now_s - began_s, most_s)

    def _mends(self, effects: tuple[str, ...], stage: str | None) -> bool:
        return any(
            set(effects) & set(one.mended_by) and one.stage in (None, stage)
            for one in self._staged
            if not self._mended
        )

    def _left_wrong(self) -> set[str]:
        return {fault.slip.name for fault in self._house.world.faults.standing}

    def _put_right(self, stood: set[str]) -> bool:
        """Return whether what is staged was found and put right by the steps of other work."""
        gone = stood - self._left_wrong()
        return not self._mended and any(one.effect in gone for one in self._staged)

    def _other(self, name: str) -> None:
        house, minutes = self._house, other_acts()[name].minutes
        if name in (HANDLES, SENSOR):
            house.put_right(HANDLE_EFFECTS if name == HANDLES else SENSOR_EFFECTS, minutes)
        elif name == SWITCH:
            house.set_switch()
        else:
            house.order_water()
        house.care.pay(minutes / 60.0, "technician" if other_acts()[name].technician else "owner", 0.0)


@dataclass(frozen=True)
class Ended:
    """What a case came to: the truth of each day, and what was done."""

    case: Case
    log: Log
    below_m3: np.ndarray  # of each day, below the dose target
    off_h: np.ndarray
    reading: np.ndarray  # what the display stood at, at the end of each day
    cost: float
    mended_day: int | None


def played(case: Case, units: Units = "us") -> Ended:
    """Play a case with the moves it holds, to its end."""
    play = Play(case, units)
    for move in case.moves:
        if play.over:
            break
        play.move(move)
    return play.finish()
