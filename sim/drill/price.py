"""What an act of a drill takes in time and money, told before it is done."""

from sim.drill.families import other_acts
from sim.drill.play import SENSOR, TANKER, Play
from sim.scenario.care import Task
from sim.study.wording import number
from sim.units import text


def takes(play: Play, what: str, stage: str | None) -> str:
    """Return in one sentence what an act takes: whose minutes, what waiting, how much money."""
    task = play.scenario.task(what)
    people, currency = play.scenario.people, play.scenario.prices.currency
    minutes = other_acts()[what].minutes if task is None else task.minutes
    called = other_acts()[what].technician if task is None else task.technician_only
    hour = people.technician_hour if called else people.owner_hour
    money = (
        hour * minutes / 60.0 + (people.technician_fee if called else 0.0) + _parts(play, what, task, stage)
    )
    who = "by a technician" if called else "of your time"
    waits = people.technician_lead_s if called else 0.0
    if what == TANKER:
        waits = play.scenario.cistern.top_up_lead_s
    wait = f", after a wait of {text(waits, 'time', play.units)} or more" if waits else ""
    water = "; the water comes on top" if what == TANKER else ""
    return f"Takes {number(minutes)} min {who}{wait}, and costs {number(money)} {currency}{water}."


def _parts(play: Play, what: str, task: Task | None, stage: str | None) -> float:
    if task is None:
        strained = (slip.price for slip in play.scenario.slips if slip.effect == "low reading")
        return max(strained, default=0.0) if what == SENSOR else 0.0
    found = task.part_price
    if stage is not None and "new cartridge" in task.effects:
        one = next(one for one in play.scenario.stages if one.name == stage)
        found += one.price * one.housings
    return found
