"""How what people missed comes to notice, and how it is put right."""

from collections.abc import Callable, Sequence

import numpy as np
import simpy

from sim.scenario.care import Task
from sim.scenario.effects import AT_STAGE
from sim.twin.people.duty import Story
from sim.twin.people.faults import Fault
from sim.twin.world import World

Pay = Callable[[float, str, float], None]
DRY_AFTER_S = 60.0  # a tap that has given nothing for a minute
SEEN_DROP_SD = 2.0  # a drop that is short by so many errors of the gauge is seen
LOW_AGAIN = 1.1  # a reading this near to what the slip leaves of it is seen to be low [A]


class Noticing:
    """Who sees what stands, when, and what they do about it."""

    def __init__(self, world: World, hands: simpy.Resource, pay: Pay):
        """Have seen nothing yet."""
        self.world, self.env, self.hands, self.pay = world, world.env, hands, pay
        self.wiped_s = -np.inf

    def read(self, drops: Sequence[float], uv_fraction: float) -> None:
        """Let a round of readings show what stands.

        Parameters
        ----------
        drops : sequence of float
            Drop over each stage as read [Pa].
        """
        world = self.world
        for fault in list(world.faults.standing):
            slip, since_s = fault.slip, fault.lapse.start_s
            wiped = not slip.after_wipe or self.wiped_s > since_s  # low in spite of a wipe
            low = slip.reading_left < 1.0 and uv_fraction < LOW_AGAIN * slip.reading_left and wiped
            if "no water" in slip.seen_by and self._dry():
                self.find(fault, "no water")  # a tap is opened to read the drops
            elif "display" in slip.seen_by and (low or slip.effect == "unit dark"):
                self.find(fault, "display")
            elif "taps" in slip.seen_by and self._drop_missing(drops):
                self.find(fault, "taps")

    def _drop_missing(self, drops: Sequence[float]) -> bool:
        least_pa = SEEN_DROP_SD * self.world.scenario.gauge.reading_sd_pa
        return any(self.world.clean_pa(i) - drop > least_pa for i, drop in enumerate(drops))

    def weak_taps(self) -> None:
        """Let taps that run weak lead to cartridges that stand in the wrong order."""
        for fault in list(self.world.faults.standing):
            if fault.slip.effect == "cartridges swapped":
                self.find(fault, "taps")

    def find(self, fault: Fault, route: str) -> None:
        """Notice a slip; somebody puts it right."""
        if fault.mending:
            return
        fault.mending = True
        self._noticed(fault, route)
        self.env.process(self.mend(fault))

    def mend(self, fault: Fault) -> Story:
        """Put a slip right: fetch the part, shut what must be shut, pay."""
        world, faults, slip = self.world, self.world.faults, fault.slip
        yield self.env.timeout(slip.lead_s)
        with self.hands.request() as free:
            yield free
            if fault not in faults.standing:
                return  # the work at hand has found it
            world.bring()
            opens = slip.opens_train
            if opens:
                world.p["shut"], world.p["lamp_works"] = int(not faults.has("bypass open")), 0
            yield self.env.timeout(slip.minutes * 60.0)
            world.bring()
            faults.end(world, fault)
            self._paid(fault, "owner")
            if opens or slip.effect == "unit dark":
                world.p["shut"] = int(not faults.has("bypass open"))
                faults.plug_in(world)
                yield self.env.timeout(world.scenario.uv.warm_up_s)
                world.bring()
            faults.set_valves(world, None)
            world.refresh()

    def until_seen(self, fault: Fault, route: str, wait_ratio: float) -> Story:
        """Wait until a slip shows, then until someone who is at home minds it.

        Parameters
        ----------
        wait_ratio : float
            Drawn wait over the mean wait of this way, 0 or more [-].
        """
        minded = False
        while not minded:
            if route == "no water":
                yield from self._until_dry(fault)
                if not self._stands(fault) or not self._may_run_dry():
                    return
            yield self.env.timeout(wait_ratio * fault.slip.seen_by[route])  # type: ignore[index]
            yield from self._next_draw()
            minded = route != "no water" or self._brought_dry()  # water may be back: it was shut for work
        if fault in self.world.faults.standing:
            self.find(fault, route)

    def _until_dry(self, fault: Fault) -> Story:
        """Wait until a tap has given nothing for a minute, or cannot come to it."""
        while True:
            yield from self._next_draw()
            if not self._stands(fault):
                return
            yield self.env.timeout(DRY_AFTER_S)
            if self._brought_dry() or not self._may_run_dry():
                return

    def _stands(self, fault: Fault) -> bool:
        return fault in self.world.faults.standing and not fault.mending

    def _brought_dry(self) -> bool:
        self.world.bring()
        return self._dry()

    def _may_run_dry(self) -> bool:
        return bool(self.world.p["shut"] or self.world.p["valve"] or not self.world.p["pump_works"])

    def _dry(self) -> bool:
        """Return whether an open tap gives nothing."""
        p, s = self.world.p, self.world.s
        held = p["shut"] or (p["valve"] and not p["lamp_works"])
        return bool(held or (not p["pump_works"] and s["water_m3"] <= 0.0))

    def _next_draw(self) -> Story:
        """Wait until someone at home opens a tap; for ever when nobody does any more."""
        starts = self.world.common.draws.start_s
        at = int(np.searchsorted(starts, self.env.now, side="right"))
        yield self.env.timeout(float(starts[at]) - self.env.now if at < starts.size else np.inf)

    def dries(self, fault: Fault, after_s: float) -> Story:
        """Let a slip pass by itself, as a wet contact dries."""
        yield self.env.timeout(after_s)
        if fault in self.world.faults.standing and not fault.mending:
            self.world.bring()
            self.world.faults.end(self.world, fault)
            self.world.note("slip over", fault.slip.name, note="by itself")
            self.world.refresh()

    def visited(self, task: Task, who: str) -> None:
        """Put right, before other work, what whoever comes to the train sees.

        Parameters
        ----------
        who : str
            "owner" or "technician".
        """
        for fault in list(self.world.faults.standing):
            sees = fault.slip.effect not in AT_STAGE or task.on_stage
            if "next visit" in fault.slip.seen_by and sees:
                if not fault.mending:
                    self._noticed(fault, "next visit")
                fault.mending = True
                self.world.faults.end(self.world, fault)
                self._paid(fault, who)

    def _noticed(self, fault: Fault, route: str) -> None:
        fault.lapse.noticed_s, fault.lapse.route = self.env.now, route
        self.world.note("slip noticed", fault.slip.name, note=route)

    def _paid(self, fault: Fault, who: str) -> None:
        slip = fault.slip
        self.pay(slip.minutes / 60.0, who, slip.price)
        self.world.note(
            "slip mended", slip.name, value=slip.minutes, unit="min", note=f"by {who}", cost=slip.price
        )
