"""What an act of a drill takes in time and money, and what a mend that is still to come will cost."""

from sim.constants import DAY_S
from sim.drill.families import family, other_acts
from sim.drill.play import HANDLES, SENSOR, TANKER, Ended, Play
from sim.drill.sight import opens
from sim.scenario.care import Task
from sim.scenario.scenario import Scenario
from sim.study.wording import counted, number


def takes(play: Play, what: str, stage: str | None) -> str:
    """Return in one sentence what an act takes: whose minutes, what waiting, how much money."""
    scenario, task = play.scenario, play.scenario.task(what)
    called, minutes = _called(what, task), _minutes(what, task)
    who = "by a technician" if called else "of your time"
    money = f"{number(price(scenario, what, stage))} {scenario.prices.currency}"
    takes = f"Takes {number(minutes)} min {who}"
    if task is not None and opens(scenario, what):
        takes += ", the water off meanwhile"
    if what == TANKER:
        comes = f"it comes in {_days(scenario.cistern.top_up_lead_s)} or more"
        return f"{takes}; {comes}. Costs {money}, {_load(scenario)}."
    if called:
        wait = f", after a wait of {_days(scenario.people.technician_lead_s)} or more"
        return f"{takes}{wait}, and costs {money}. Note a cause before: days pass."
    works = " Each valve is worked to and fro, also where a glance shows nothing." if what == HANDLES else ""
    return f"{takes}, and costs {money}.{works}"


def _days(wait_s: float) -> str:
    return counted(round(wait_s / DAY_S, 1), "day")


def _load(scenario: Scenario) -> str:
    prices = scenario.prices
    load = prices.of_tanker(scenario.cistern.top_up_m3)
    return f"and up to {number(load)} {prices.currency} for the water"


def price(scenario: Scenario, what: str, stage: str | None) -> float:
    """Return what an act costs: time, a technician's way and parts."""
    task, people = scenario.task(what), scenario.people
    called = _called(what, task)
    hour = people.technician_hour if called else people.owner_hour
    way = people.technician_fee if called else 0.0
    return hour * _minutes(what, task) / 60.0 + way + _parts(scenario, what, task, stage)


def due(ended: Ended) -> float:
    """Return the price of the cheapest mend still to come; 0 where it was mended, or passes by itself."""
    found, scenario = family(ended.case.staged[0].name), ended.case.scenario
    if ended.mended_day is not None or found.passes:
        return 0.0
    wanted = set(found.mended_by)
    tasks = {task.name for task in scenario.tasks if wanted & set(task.effects)}
    return min(price(scenario, what, found.stage) for what in tasks | (wanted & set(other_acts())))


def _called(what: str, task: Task | None) -> bool:
    return other_acts()[what].technician if task is None else task.technician_only


def _minutes(what: str, task: Task | None) -> float:
    return other_acts()[what].minutes if task is None else task.minutes


def _parts(scenario: Scenario, what: str, task: Task | None, stage: str | None) -> float:
    if task is None:
        strained = (slip.price for slip in scenario.slips if slip.effect == "low reading")
        return max(strained, default=0.0) if what == SENSOR else 0.0
    found = task.part_price
    if stage is not None and "new cartridge" in task.effects:
        one = next(one for one in scenario.stages if one.name == stage)
        found += one.price * one.housings
    return found
