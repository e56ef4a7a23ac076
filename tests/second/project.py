"""The plant of the project, driven through a case by its own loop."""

import numpy as np

from sim.plant import draws as compiled_draws
from sim.plant import loop, state, tank
from sim.twin.water import day_step, unpack

DAY = 86400.0


class Compiled:
    """The plant of the project, driven by the loop."""

    def __init__(self, case, share=None):
        sc, wear = case.scenario, case.wear
        self.case, house = case, unpack.house_record(sc, 1.0, 1.0)
        self.p, self.s = house["plant"], house["state"]
        self.p["shutoff_head_m"] *= wear.head
        if share is not None:
            self.p["step_share"] = share
        self.s["cistern_m3"], self.s["power"] = case.cistern, 1
        self._wear(house, len(sc.stages), wear)
        # Both begin with the tank at cut-out; the pressure is the same number, the water each one's own.
        p = self.p[0]
        self.s["water_m3"] = tank.water_m3(
            p["cut_out_pa"], p["tank_m3"], p["precharge_pa"], p["atmosphere_pa"], p["exponent"]
        )
        d = case.draws
        self.got = compiled_draws.blank(d.start_s, d.coefficient, d.duration_s, d.volume_m3, d.patience_s)
        self.days, self.bins = state.new_days(case.n_days), self.s["dose_m3"][0]
        self.log, self.trips = np.zeros((200000, 2)), []
        self._drive()

    def _wear(self, house, stage_count, wear):
        water, stages = house["water"], house["stages"][0, :stage_count]
        stages["load_kg"][:, 0] = np.array(wear.loads) * stages["capacity_kg"]
        water["water_c"], water["colour"] = wear.water_c, wear.absorbance * self.case.cistern
        water["lamp_lit_s"], water["solids_kg"] = wear.lit_s, 0.0
        water["sleeve_film"], water["window_film"] = wear.sleeve_film, wear.window_film
        day_step.refresh(house)

    def _drive(self):
        names = {"shut": "shut", "lamp": "lamp_works", "pump": "pump_works"}
        stops = [(day * DAY, "", 0.0) for day in range(1, self.case.n_days + 1)]
        for time, what, value in sorted([*self.case.changes, *stops]):
            self._advance(time)
            if what == "refill":
                self.s["cistern_m3"] += value
            elif what == "warm":
                self.s["warm_at_s"] = time + self.p["warm_up_s"]
            elif what:
                self.p[names[what]] = value

    def _advance(self, time):
        dry = self.s["dry"][0] and self.s["cistern_m3"][0] < self.p["restart_m3"][0]
        status = loop.advance(
            time,
            self.s[0],
            self.p[0],
            self.got,
            self.case.cuts,
            self.days,
            self.log,
            np.zeros((0, 4)),
        )
        assert status == state.OK
        if not dry and self.s["dry"][0]:
            self.trips.append(float(self.log[int(self.s["pump_rows"][0]) - 1, 1]))

    @property
    def events(self):
        """Events as the second plant logs them."""
        rows = int(self.s["pump_rows"][0])
        found = [(t, "pump starts", 0) for t in self.log[: rows + int(self.s["pump_on"][0]), 0]]
        found += [(t, "pump stops", 0) for t in self.log[:rows, 1]]
        found += [(t, "trips", 0) for t in self.trips]
        for i, one in enumerate(self.got):
            found.append((one["start_s"], "opens", i))
            if one["seconds"] > 0.0:
                found.append((one["start_s"] + one["seconds"], "unmet" if one["unmet"] else "ends", i))
        found += [(t, "cut", 0) for t in self.case.cuts[:, 0] if t < self.case.n_days * DAY]
        found += [(t, "power back", 0) for t in self.case.cuts[:, 1] if t < self.case.n_days * DAY]
        return found
