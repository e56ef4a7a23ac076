"""What people see of the house: gauges read on their rounds, and what the household notices by itself."""

import math
from collections.abc import Callable, Sequence

from sim.constants import DAY_S
from sim.plant import state, tank
from sim.scenario.effects import WIPES
from sim.twin import lamps
from sim.twin.people.duty import Duty, Story
from sim.twin.people.noticing import Noticing
from sim.twin.world import World
from sim.upkeep.rules import failure_due, reading_due

WEAK_TAP_S = 600.0  # ten weak minutes a day are noticed [A]
WEAK_SHARE = 0.25  # of cut-in: a stage that takes more at reading flow is the one to change [A]
BUSY_STARTS = 10.0  # pump starts a day before anyone listens [A]
SHORT_DRAWDOWN = 0.3  # of a healthy tank's drawdown a start: a pump that never rests is heard [A]
RECENT_S = 30 * DAY_S
NEW_LAMP_S = 180 * DAY_S  # a lamp this new is not blamed for an alarm that a new lamp did not clear [A]


class Watch:
    """The eyes and ears of the household: they ask for the tasks that are due by what they notice."""

    def __init__(self, world: World, duties: Sequence[Duty], noticing: Noticing, ask: Callable[[Duty], None]):
        """Know what is healthy here."""
        self.world, self.env, self.duties, self.noticing, self.ask = world, world.env, duties, noticing, ask
        sc = world.scenario
        world.clock["heeds"], world.clock["weak_s"] = world.policy.heeds_alarm, WEAK_TAP_S
        self.drawdown_m3 = tank.drawdown_m3(
            sc.tank.volume_m3,
            sc.tank.precharge_pa,
            sc.switch.cut_in_pa,
            sc.switch.cut_out_pa,
            float(world.p["atmosphere_pa"]),
            sc.tank.gas_exponent,
        )

    def rounds(self, every_s: float) -> Story:
        """Read the gauges every so often and act on what was read."""
        world, gauge = self.world, self.world.scenario.gauge
        while True:
            yield self.env.timeout(every_s)
            if world.policy.skipped("everything", None, self.env.now):
                continue
            world.bring()
            noise = world.common.reading_noise[min(int(self.env.now / DAY_S), world.common.n_days - 1)]
            drops = [
                max(world.drop_pa(i) + gauge.reading_sd_pa * noise[i], 0.0) for i in range(len(world.stages))
            ]
            light = max(float(world.w["reading"]) + gauge.uv_reading_sd * noise[-1], 0.0)
            short = (
                world.scenario.tank.precharge_pa
                - float(world.ageing["precharge_pa"])
                + gauge.reading_sd_pa * noise[-2]
            )
            for stage, drop in zip(world.scenario.stages, drops, strict=True):
                world.note("reading", f"drop over {stage.name}", value=drop, unit="Pa")
            world.note("reading", "UV", value=light, unit="fraction")
            self.noticing.read(drops, light)
            for duty in self.duties:
                rule = duty.rule
                drop = drops[duty.stage] if duty.stage >= 0 else 0.0
                if rule.when == "reading" and reading_due(
                    drop, rule.drop_above_pa, light, rule.uv_below, short, rule.precharge_off_pa
                ):
                    self.ask(duty)

    def notice(self, day: int) -> None:
        """Act on what the household noticed on a day: alarm, weak taps, dry taps, a pump that never rests."""
        world = self.world
        alarm, dark = bool(world.p["alarm"]), bool(lamps.dark(world))
        weak = bool(world.days[day, state.LOW_PRESSURE] > WEAK_TAP_S)
        broken_part = world.parts["pump"]["broken"] or world.parts["bladder"]["broken"]
        other = bool(world.clock["standby_broken"])  # the controller shows it: the taps run on
        if not (alarm or dark or weak or broken_part or other):
            return
        wiped_s = max((d.worked_s for d in self.duties if WIPES & set(d.task.effects)), default=-math.inf)
        worst = max(range(len(world.stages)), key=world.drop_pa, default=-1)
        weak = weak and worst >= 0 and world.drop_pa(worst) > WEAK_SHARE * float(world.p["cut_in_pa"])
        if weak:
            self.noticing.weak_taps()
        for duty in self.duties:
            if duty.rule.when != "failure":
                continue
            broken = {
                "new pump": other
                or bool(world.parts["pump"]["broken"] and world.days[day, state.WATER_OFF] > 0),
                "new pressure tank": bool(world.parts["bladder"]["broken"]) and self.restless(day),
            }
            vain = self.env.now - wiped_s < RECENT_S
            old_lamp = self.env.now - duty.worked_s >= NEW_LAMP_S
            starving = weak and duty.stage == worst
            if any(
                failure_due(
                    effect,
                    alarm,
                    dark,
                    vain and (effect != "new lamp" or old_lamp),
                    broken.get(effect, False),
                    starving,
                )
                for effect in duty.task.effects
            ):
                self.ask(duty)

    def restless(self, day: int) -> bool:
        """Return whether the pump started far too often on a day for the water that was used."""
        starts, supplied_m3 = self.world.days[day, state.STARTS], self.world.days[day, state.SUPPLIED]
        return bool(starts > BUSY_STARTS and supplied_m3 < SHORT_DRAWDOWN * self.drawdown_m3 * starts)
