"""Samples of tap water: what the laboratory says, and what a find leads to."""

import numpy as np

from sim.scenario.procedure import RETURN
from sim.twin.people.duty import Story
from sim.twin.people.noticing import Noticing, Pay
from sim.twin.world import World
from sim.upkeep.sampling import positive_probability, surviving_share


class Samples:
    """The laboratory of one house."""

    def __init__(self, world: World, noticing: Noticing, pay: Pay):
        """Have seen no sample yet."""
        self.world, self.env, self.noticing, self.pay = world, world.env, noticing, pay
        self.sampled = 0

    def laboratory(self) -> Story:
        """Look at a sample: a find leads to what stands and to the return to service."""
        world, sample = self.world, self.world.scenario.sample
        assert sample is not None
        chance = world.common.samples[self.sampled % world.common.samples.size]
        self.sampled += 1
        probability = positive_probability(
            self._alive(sample.looks_back_s, sample.log_dose_j_m2),
            sample.raw_count,
            sample.false_positive_share,
        )
        yield self.env.timeout(sample.result_after_s)
        found = bool(chance < probability)
        world.costs.samples += 1
        world.costs.finds += found
        word = "coliforms found" if found else "none found"
        world.note("sample", "tap water", value=probability, unit="fraction", note=word)
        if not (found and sample.acted_on):
            return
        for fault in list(world.faults.standing):
            if "sample" in fault.slip.seen_by:
                self.noticing.find(fault, "sample")
        minutes = world.scenario.minutes(RETURN)
        self.pay(minutes / 60.0, "owner", sample.price)
        world.note("task", RETURN, value=minutes, unit="min", note="by owner", cost=sample.price)

    def _alive(self, looks_back_s: float, log_dose_j_m2: float) -> float:
        starts, now = self.world.common.draws.start_s, self.env.now
        recent = self.world.draws[np.searchsorted(starts, now - looks_back_s) : np.searchsorted(starts, now)]
        return surviving_share(recent["got_m3"], recent["dose_j_m2"], log_dose_j_m2)
