"""What a person in the house sees and hears, with the noise of gauges: all of the twin that leaves here."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sim.constants import DAY_S
from sim.drill.case import Case, noise
from sim.drill.usual import Usual, tap_m3_s
from sim.plant import state, suction, tank
from sim.scenario.scenario import Scenario
from sim.study.wording import number, percent
from sim.twin.due_drop import clean_drop_pa, due_drop_pa
from sim.twin.people.watching import WEAK_TAP_S
from sim.twin.world import World
from sim.units import Units, text

BUCKET_M3 = 0.01  # as in the diary of a house
BUCKET_SHARE = 0.05  # of the seconds: half a bar on the bucket's mark, and the hand on the tap [A]
WATCH_SHARE = 0.05  # of a time by the watch, with the ear [A]
STICK_SD_M = 0.02  # of a stick [A]
TINTS = (
    (6.0, "a tint of tea"),
    (15.0, "as tea"),
    (25.0, "brown"),
)  # from an absorbance [1/m] on; else clear [A]
OFF_SEEN_S = 900.0  # a quarter of an hour without water is noticed [A]
FELL = 0.1  # of the display overnight: seen at a glance, also while the alarm sounds already [A]
HUNDREDTH = 0.01  # to which a display shows
USUAL = "The taps ran as usual since yesterday."
WORKED = "The taps ran as usual since yesterday, but for the time of the work."
SLOWER_TAPS = "The taps run slower than they did at first."
AS_AT_FIRST = "The taps run as they did at first."
NO_TAPS = "No water comes at the taps."
ALL_RIGHT = "handles, plug and switch: as they should be at a glance; what is inside a valve does not show"
UNDRUNK = "nobody drinks until it is mended and the taps are flushed"


@dataclass(frozen=True)
class Seen:
    """What one look or check showed: numbers in SI by name, and the words for them."""

    what: str
    values: dict[str, float]
    words: tuple[str, ...]


@dataclass(frozen=True)
class Check:
    """One thing to look at, and how long it takes."""

    minutes: float
    look: Callable[[World, Case, Units], Seen]
    shows: str


def _day(world: World) -> int:
    return int(world.env.now // DAY_S)


def passing(world: World, case: Case, usual: Usual) -> Seen:
    """See what anyone at home sees without looking for it: display, alarm, taps, pump, since yesterday."""
    day = _day(world)
    yesterday = world.days[max(day - 1, 0)]
    values: dict[str, float] = {"alarm": float(world.p["alarm"])}
    words = []
    if world.f["unplugged"]:
        words.append(f"The UV display is dark, nothing on it: {UNDRUNK}.")
    else:
        sd = world.scenario.gauge.uv_reading_sd
        read = max(float(world.w["reading"]) + sd * float(noise(case, day, 0, 1)[0]), 0.0)
        values["display"] = 0.0 if world.w["reading"] <= 0.0 else _as_alarmed(world, round(read, 2))
        alarm = f"the alarm sounds: {UNDRUNK}" if world.p["alarm"] else "no alarm"
        words.append(f"The UV display reads {percent(values['display'])}; {alarm}.")
    off, weak = float(yesterday[state.WATER_OFF]), float(yesterday[state.LOW_PRESSURE])
    dry = off - usual.worked_s.get(day - 1, 0.0)
    values["dry"], values["weak"] = float(dry > OFF_SEEN_S), float(weak > WEAK_TAP_S)
    values |= usual.changed(world, day, drops_pa(world, case))
    words.append(_taps(world, values, off, usual.worked_day == day))
    values["restless"] = float(usual.restless(world, day))
    if values["restless"]:
        words.append("The pump is heard again and again, for seconds.")
    elif values["often"]:
        words.append("The pump is heard starting more often than it did.")
    if values["moved"]:
        words.append("In passing: a gauge does not stand where it was last noted.")
    return Seen("what anyone sees", values, tuple(words))


def labels(world: World, units: Units) -> Seen:
    """Read the labels of the unit and of the housings: what is new and clean, and where its limit lies."""
    scenario = world.scenario
    old, alarm = percent(scenario.uv.output_at_end), scenario.uv.alarm
    unit = (
        f"label of the UV unit: 100 % is new and clean, {old} is clean at the end of the lamp's rated hours, "
        f"the alarm sounds below {percent(alarm)}"
    )
    housings = (
        f"label of the {stage.name} housing: a drop of some "
        f"{text(clean_drop_pa(scenario, i), 'pressure', units)} when its cartridge is clean; change it from "
        f"{text(due_drop_pa(scenario, i), 'pressure', units)} on"
        for i, stage in enumerate(scenario.stages)
    )
    return Seen("label", {"alarm": alarm}, (unit, *housings))


def tells(before: Seen, now: Seen) -> bool:
    """Return whether somebody looks up: what shows came or went, or pump or gauge begin to tell."""
    come = any(now.values[name] > before.values[name] for name in ("restless", "often", "moved"))
    fell = before.values.get("display", 0.0) - now.values.get("display", 0.0) > FELL
    return come or fell or _shows(now) != _shows(before)


def _shows(seen: Seen) -> tuple[object, ...]:
    """Return what shows as it comes and as it goes."""
    display = seen.values.get("display")
    stands = (seen.values[name] for name in ("alarm", "dry", "weak", "slower"))
    return (*stands, display is None, display == 0.0)


def _taps(world: World, values: dict[str, float], off_s: float, worked: bool) -> str:
    """Tell how the taps run now, where that is news, else how they ran on the day before."""
    if tap_m3_s(world) <= 0.0:
        return NO_TAPS
    if worked:
        return SLOWER_TAPS if values["slower"] else AS_AT_FIRST
    if values["dry"]:
        long = "most of the day" if off_s > 0.5 * DAY_S else "a time"
        now = "slower than they did at first" if values["slower"] else "as they did at first"
        return f"Yesterday the taps gave nothing for {long}; they run {now}."
    if values["weak"]:
        return "The taps ran weak since yesterday."
    if values["slower"]:
        return SLOWER_TAPS
    return WORKED if off_s > OFF_SEEN_S else USUAL


def _as_alarmed(world: World, read: float) -> float:
    """Return what a display shows of a reading: its alarm hears the same signal, so the two agree."""
    limit, sounds = float(world.scenario.uv.alarm), bool(world.p["alarm"])
    if sounds != (world.w["reading"] < limit):
        return read
    return min(read, limit - HUNDREDTH) if sounds else max(read, limit)


def drops_pa(world: World, case: Case) -> dict[str, float]:
    """Return the drop [Pa] over each stage, as its gauges read on this day."""
    gauge = world.scenario.gauge
    jitter = noise(case, _day(world), 1, len(world.stages))
    shut = tap_m3_s(world) <= 0.0
    return {
        stage.name: 0.0 if shut else max(world.drop_pa(i) + gauge.reading_sd_pa * float(jitter[i]), 0.0)
        for i, stage in enumerate(world.scenario.stages)
    }


def _gauges(world: World, case: Case, units: Units) -> Seen:
    drops = drops_pa(world, case)
    words = [f"drop over {name} {text(drop, 'pressure', units)}" for name, drop in drops.items()]
    return Seen("gauges", drops, tuple(words))


def _pump(world: World, case: Case, units: Units) -> Seen:
    """Open a tap, shut it when the pump starts, watch the gauge and time the pump until it stops."""
    p, day = world.p, _day(world)
    lift_m = world.scenario.pump.height_m
    low_pa, high_pa = float(p["cut_in_pa"]), float(p["cut_out_pa"])
    flow = float(suction.flow_m3_s(0.5 * (low_pa + high_pa), lift_m, p))
    if not p["pump_works"] or flow <= 0.0 or world.s["dry"] or world.s["cistern_m3"] <= p["intake_m3"]:
        return Seen("pump", {"run": 0.0}, ("pump: does not start, or runs and brings nothing",))
    drawn_m3 = tank.drawdown_m3(
        float(p["tank_m3"]), float(p["precharge_pa"]), low_pa, high_pa, float(p["atmosphere_pa"]),
        float(p["exponent"]),
    )  # fmt: skip
    jitter = noise(case, day, 2, 3)
    sd = world.scenario.gauge.reading_sd_pa
    low, high = low_pa + sd * float(jitter[0]), high_pa + sd * float(jitter[1])
    idle_s = float(p["stop_delay_s"]) if p["holds"] else 0.0
    run_s = (idle_s + drawn_m3 / flow) * (1.0 + WATCH_SHARE * float(jitter[2]))
    words = (
        f"pump: starts at {text(low, 'pressure', units)}, stops at {text(high, 'pressure', units)} after "
        f"{number(run_s)} s with the taps shut"
    )
    return Seen("pump", {"low": low, "high": high, "run": run_s}, (words,))


def _bucket(world: World, case: Case, units: Units) -> Seen:
    """Fill a bucket at the kitchen tap, between the points of the pressure switch."""
    flow = tap_m3_s(world)
    if flow <= 0.0:
        return Seen("bucket", {"seconds": np.inf}, ("bucket at the kitchen tap: nothing comes",))
    seconds = BUCKET_M3 / flow * (1.0 + BUCKET_SHARE * float(noise(case, _day(world), 3, 1)[0]))
    size = "10 L" if units == "si" else "2.6 gal (10 L)"
    words = f"bucket of {size} at the kitchen tap: {number(seconds)} s"
    return Seen("bucket", {"seconds": seconds}, (words,))


def _stick(world: World, case: Case, units: Units) -> Seen:
    depth = float(world.s["cistern_m3"]) / world.scenario.cistern.floor_m2
    depth = max(depth + STICK_SD_M * float(noise(case, _day(world), 4, 1)[0]), 0.0)
    intake = world.scenario.cistern.intake_m
    words = f"stick in the cistern: {text(depth, 'length', units)}, intake at {text(intake, 'length', units)}"
    if world.scenario.restart_m > 0.0:
        again = text(intake + world.scenario.restart_m, "length", units)
        words += f"; a pump that ran dry starts again from {again} on"
    return Seen("cistern stick", {"depth": depth, "above": depth - intake}, (words,))


def _handles(world: World, _case: Case, _units: Units) -> Seen:
    f, has = world.f, world.faults.has
    found = {
        "shut": (float(has("water shut")), "a valve handle stands across the pipe: shut"),
        "bypass": (
            float(bool(f["bypass_open"])),
            f"the bypass handle stands along its pipe, open, and water goes past the lamp: {UNDRUNK}",
        ),
        "plug": (float(bool(f["unplugged"])), f"the UV plug is out: {UNDRUNK}"),
        "switch": (float(has("pump off")), "the pump switch is off"),
    }
    words = [said for stands, said in found.values() if stands]
    return Seen("handles", {name: stands for name, (stands, _) in found.items()}, tuple(words or [
        ALL_RIGHT]))  # fmt: skip


def _glass(world: World, _case: Case, _units: Units) -> Seen:
    tint = float(world.w["absorbance_per_m"])
    shades = [name for limit, name in TINTS if tint >= limit]
    word = shades[-1] if shades else "clear"
    return Seen("glass", {"shade": float(len(shades))}, (f"glass on white paper: {word}",))


def _lamp(world: World, _case: Case, _units: Units) -> Seen:
    hours = float(world.w["lamp_lit_s"]) / 3600.0
    rated = world.scenario.uv.rated_life_s / 3600.0
    return Seen("lamp hours", {"hours": hours, "rated": rated}, (
        f"lamp hours {number(hours)}, rated {number(rated)}",))  # fmt: skip


CHECKS: dict[str, Check] = {
    "gauges": Check(
        8.0,
        _gauges,
        "the drop over each cartridge, which is what it takes of the pressure: little when clean, more as it "
        "fills",
    ),
    "pump": Check(5.0, _pump, "the pressures at which it starts and stops, and how long it runs between"),
    "bucket": Check(5.0, _bucket, "how long the kitchen tap takes to fill it"),
    "cistern stick": Check(5.0, _stick, "how deep the water stands, and how deep the intake lies"),
    "handles": Check(3.0, _handles, "how valves, bypass, plugs and the pump's switch stand"),
    "glass": Check(1.0, _glass, "the colour of the water"),
    "lamp hours": Check(1.0, _lamp, "how long the lamp has burnt; it gives less light with its hours"),
}


def opens(scenario: Scenario, task: str) -> bool:
    """Return whether a task opens what stands at pressure: a housing, the UV chamber or its sensor port."""
    opened = {("housing", "open"), ("UV chamber", "open"), ("sensor", "out")}
    return any(opened & set(step.operates.items()) for step in scenario.steps(task))
