"""Something is amiss: what is it likely to be, and what should be checked first?"""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import ClassVar

import numpy as np

from sim.diary.book import Diary
from sim.diary.followed import check_followed
from sim.diary.paths import COUNT
from sim.diary.picture import Setting, picture, ready
from sim.errors import InputError
from sim.scenario.scenario import Scenario
from sim.study.check_first import low_light, plan
from sim.study.check_first.signs import Cause, Sign, sign_of
from sim.study.question import Site
from sim.study.runs.means import Means
from sim.study.runs.quota import in_range
from sim.study.today.question import ROUGH
from sim.study.wording import capital, listed, number, percent

LOW_LIGHT = "low uv"
HOUR_MIN = 60.0
HALF = 0.5
READ_MIN = 1.0  # to read a display and write it down [A]


@dataclass(frozen=True)
class Act:
    """One thing to do.

    Attributes
    ----------
    do : str
        What.
    share : float
        Chance that it is this; 0 where it tells none apart.
    minutes, money : float
        What it takes: time, and parts or a fee, in the currency of the site.
    tells : str
        What its results would mean.
    """

    do: str
    share: float
    minutes: float
    money: float
    tells: str


@dataclass(frozen=True)
class CheckFirstAnswer:
    """Likely causes, and what to do in which order.

    Attributes
    ----------
    causes : tuple of tuple
        Name and share of each cause, the likeliest first.
    acts : tuple of Act
        In order.
    skipped : tuple of str
        What is not done, and why, in words.
    cost, other_cost : float
        Expected cost of this order until it is restored, and of what it is held against.
    """

    kind: ClassVar[str] = "check-first"
    sign: str
    caution: str
    stop: str
    causes: tuple[tuple[str, float], ...]
    acts: tuple[Act, ...]
    skipped: tuple[str, ...]
    cost: float
    other_cost: float
    sentence: str


@dataclass(frozen=True, kw_only=True)
class CheckFirstQuestion:
    """Ask what to check first for a sign.

    Attributes
    ----------
    sign : str
        One of the signs that come with the project.
    diary : Diary
        What was read and done.
    """

    kind: ClassVar[str] = "check-first"
    site: Site
    diary: Diary
    today: date
    sign: str
    count: int = COUNT

    def check(self) -> None:
        """Refuse what cannot be answered, before long work begins."""
        check_followed(self.site.scenario)
        in_range("count", self.count, 2, 4096)
        sign = sign_of(self.sign)
        if sign.name == LOW_LIGHT and not _mends(self.site.scenario):
            raise InputError(f"--sign {self.sign!r}: no task of this site brings UV light back")

    def answer(self, means: Means) -> CheckFirstAnswer:
        """Answer it; a low UV reading along the paths of the house, others by the table of signs."""
        sign = sign_of(self.sign)
        if sign.name != LOW_LIGHT:
            return by_table(self.site.scenario, sign)
        if means.folder is not None:
            return self._low_light(sign, means, means.folder)
        with TemporaryDirectory() as folder:
            return self._low_light(sign, means, Path(folder))

    def _low_light(self, sign: Sign, means: Means, folder: Path) -> CheckFirstAnswer:
        scenario = self.site.scenario
        setting = Setting(
            scenario, self.site.rain, self.today, (), folder, means.workers, self.count,
            lambda done, of: means.tell(done, of, "paths"),
        )  # fmt: skip
        if means.on_partial is not None and self.count > ROUGH and not ready(setting, self.diary):
            few = replace(setting, count=ROUGH)
            means.on_partial(
                of_light(scenario, sign, low_light.low_light(scenario, picture(few, self.diary)))
            )
        return of_light(scenario, sign, low_light.low_light(scenario, picture(setting, self.diary)))


def _hour(scenario: Scenario) -> float:
    return scenario.people.owner_hour / HOUR_MIN


def _call(scenario: Scenario) -> float:
    """Return what it costs when a technician comes for an hour."""
    return scenario.people.technician_fee + scenario.people.technician_hour


def _task_for(scenario: Scenario, effect: str, stage: str) -> tuple[str, float, float] | None:
    """Return the label of the cheapest task with an effect, its minutes and the price of its part."""
    able = [task for task in scenario.tasks if effect in task.effects]
    if not able:
        return None
    best = min(able, key=lambda task: (task.part_price, task.minutes))
    if not best.on_stage:
        return best.name, best.minutes, best.part_price
    wanted = [one for one in scenario.stages if (one.carbon_bed_m3 > 0.0) == (stage == "carbon")]
    if not wanted:
        return None
    one = wanted[0]
    return f"{best.name}: {one.name}", best.minutes, one.price * one.housings


def _mends(scenario: Scenario) -> list[tuple[int, str, float, float]]:
    """Return the mends of a low reading: number of the cause, label, minutes, money."""
    found = []
    for k, effect in enumerate(low_light.EFFECTS):
        task = _task_for(scenario, effect, "carbon")
        if task is not None:
            found.append((k, *task))
    return found


def of_light(scenario: Scenario, sign: Sign, found: low_light.LowLight) -> CheckFirstAnswer:
    """Return the order for a low UV reading: read, mend, read, until it is back."""
    mends = {k: (label, minutes, money) for k, label, minutes, money in _mends(scenario)}
    hour, call = _hour(scenario), _call(scenario)
    costs = np.full(len(low_light.CAUSES), np.inf)
    for k, (_, minutes, money) in mends.items():
        costs[k] = (minutes + READ_MIN) * hour + money
    best, cost, lamp_cost = low_light.orders(found, costs, call)
    shares = found.shares
    acts = [Act("write down what it reads now", 0.0, READ_MIN, 0.0,
                "Without this number the next ones tell little.")]  # fmt: skip
    done, brought = frozenset[int](), []
    for k in best:
        label, minutes, money = mends[k]
        share = found.left(done) - found.left(done | {k})
        acts.append(Act(f"{label}, then read", share, minutes + READ_MIN, money, _TELLS[k]))
        brought.append((label, share))
        done |= {k}
    if found.left(done) > 0.0:
        acts.append(
            Act("call a technician", found.left(done), HOUR_MIN, call, "What is left is for a technician.")
        )
    skipped = tuple(
        f"{capital(mends[k][0])}: cheaper steps bring the reading back. {_LATER[shares[k] > HALF]}"
        for k in mends
        if k not in best
    )
    causes = sorted(zip(low_light.CAUSES, map(float, shares), strict=True), key=lambda one: -one[1])
    most = listed([f"{name} ({percent(share)})" for name, share in causes if share >= 0.005])
    steps = listed([f"{label} ({percent(share)})" for label, share in brought])
    when = "" if found.today else ", when it comes to be low"
    currency = scenario.prices.currency
    sentence = (
        f"What brings the reading back{when}: {steps}. Most light is lost to the {most}. In this order it "
        f"takes about {number(cost)} {currency} of time and parts; with the lamp first about "
        f"{number(lamp_cost)} {currency}. "
        f"Time counts {number(scenario.people.owner_hour)} {currency} an hour."
    )
    return CheckFirstAnswer(
        sign.name, sign.caution, sign.stop, tuple(causes), tuple(acts), skipped, cost, lamp_cost, sentence
    )


_LATER = {True: "Have what it takes ready: most light is lost to it.", False: "Skip it."}
_TELLS = (
    "Back: it was the window, and the water had its light all along. This one reading also says most of "
    "what is not known of the dose. No change: go on.",
    "Back: film had kept light from the water too. No change: go on.",
    "Back: it was the lamp. No change: go on.",
    "Back: colour in the water had taken it. No change: go on.",
)


def by_table(scenario: Scenario, sign: Sign) -> CheckFirstAnswer:
    """Return the order for a sign by the table of what each fault shows."""
    hour, call = _hour(scenario), _call(scenario)
    mends = [_mend_of(scenario, cause, hour) for cause in sign.causes]
    case = plan.Case(
        tuple(plan.Look(one.minutes * hour, one.chances) for one in sign.checks),
        tuple(cost for _, _, _, cost in mends), call,
    )  # fmt: skip
    whole = sum(cause.share for cause in sign.causes)
    shares = tuple(cause.share / whole for cause in sign.causes)
    steps = plan.plan(case, shares)
    acts = [_look_act(sign, step, mends) for step in steps if step.look >= 0]
    last = steps[-1].shares
    for k in plan.mending(case, last)[1]:
        label, minutes, money, _ = mends[k]
        acts.append(
            Act(label, last[k], minutes, money, f"If it was this ({sign.causes[k].name}), it is over.")
        )
    acts.append(Act("call a technician", 0.0, HOUR_MIN, call, "What is left is for a technician."))
    made = {step.look for step in steps}
    skipped = tuple(
        f"{capital(sign.checks[k].name)}: whatever it shows, what to do stays the same. Skip it."
        for k in plan.idle(case, shares)
        if k not in made
    )
    cost, unchecked = plan.expected(case, shares), plan.mending(case, shares)[0]
    causes = sorted(zip([one.name for one in sign.causes], shares, strict=True), key=lambda one: -one[1])
    likely = listed([f"{name} ({percent(share)})" for name, share in causes[:3]])
    currency = scenario.prices.currency
    sentence = (
        f"Likely: {likely}. In this order it takes about {number(cost)} {currency} of time and parts until "
        f"it is mended, without any check about {number(unchecked)} {currency}."
    )
    return CheckFirstAnswer(
        sign.name, sign.caution, sign.stop, tuple(causes), tuple(acts), skipped, cost, unchecked, sentence
    )


def _mend_of(scenario: Scenario, cause: Cause, hour: float) -> tuple[str, float, float, float]:
    """Return what mends a cause: words, minutes, money, cost; infinite where somebody is called for it."""
    if cause.effect and not cause.licensed:
        task = _task_for(scenario, cause.effect, cause.stage)
        if task is not None:
            label, minutes, money = task
            return label, minutes, money, minutes * hour + money
    if cause.mend:
        return cause.mend, cause.minutes, 0.0, cause.minutes * hour
    return "call a technician", HOUR_MIN, _call(scenario), float("inf")


def _look_act(sign: Sign, step: plan.Step, mends: list[tuple[str, float, float, float]]) -> Act:
    check = sign.checks[step.look]
    likeliest = int(np.argmax(step.yes_shares))
    name, share = sign.causes[likeliest].name, step.yes_shares[likeliest]
    tells = (
        f"{capital(check.yes)}: {name} ({percent(share)}); {mends[likeliest][0]}. {capital(check.no)}: go on."
    )
    return Act(check.name, step.shares[likeliest], check.minutes, 0.0, tells)
