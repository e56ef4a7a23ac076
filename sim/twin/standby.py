"""A second like pump that takes over when the running one fails, until the broken one is replaced.

The record of the house holds the pump that runs; the other waits here. It ages by the calendar alone while it
waits, and that it no longer works shows only when it is to run. Nothing makes both fail at once.
"""

import numpy as np

from sim.twin.changeable import Changeable

TOOK_OVER = "end of life; the standby pump takes over"


class Standby:
    """The pump that waits, if there is one."""

    def __init__(self, world: Changeable):
        """Put in the second pump with the first."""
        self.world, self.fitted = world, 1
        self.waiting: np.ndarray | None = None  # its record
        if world.scenario.pump.standby:
            self.waiting = world.house["parts"][0, world.pump_at].copy()
            self._new(self.waiting)

    def _new(self, part: np.ndarray) -> None:
        for field in part.dtype.names or ():
            part[field] = 0
        part["life_s"], part["number"] = self.world.life_s("pump", self.fitted), self.fitted
        part["since_s"] = self.world.env.now
        self.fitted += 1

    def take_over(self) -> bool:
        """Let the waiting pump run in place of the one that failed; return whether there is a sound one."""
        world = self.world
        if self.waiting is None or self.waiting["broken"]:
            return False
        running = world.parts["pump"]
        failed = running.copy()
        for field in failed.dtype.names:
            running[field] = self.waiting[field]
        failed["broken"] = 1
        self.waiting = failed
        world.clock["standby_broken"] = 1
        world.s["pump_from_s"] = world.env.now + world.scenario.pump.standby_after_s
        return True

    def renew(self) -> bool:
        """Put a new pump in: for the running one, or for the other where that alone is broken.

        Returns
        -------
        bool
            Whether the running pump is the new one.
        """
        running = self.world.parts["pump"]
        if self.waiting is not None and self.waiting["broken"] and not running["broken"]:
            self._new(self.waiting)
            self.world.clock["standby_broken"] = 0
            return False
        if self.waiting is None:
            self.world.renew("pump")
        else:
            self._new(running)
        return True
