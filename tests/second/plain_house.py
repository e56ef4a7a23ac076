"""The second plant in time: simpy processes for draws, power, service and the plant itself."""

import itertools
import math
from dataclasses import dataclass, field

import numpy as np
import simpy
from scipy.optimize import brentq

from tests.second import plain_flow
from tests.second.plain_numbers import Numbers

DAY = 86400.0
NEGLIGIBLE = 1e-9  # [s]: sums of times differ by rounding


@dataclass
class Draw:
    """What is asked for, and what came of it."""

    start: float
    coefficient: float
    duration: float
    volume: float
    patience: float
    got: float = math.nan
    seconds: float = math.nan
    least_tap: float = math.inf
    least_dose: float = math.inf
    unmet: bool = False
    phi: float = 0.0  # at opening


@dataclass
class Day:
    """Sums and least values of a day."""

    least_tank: float = math.inf
    least_tap: float = math.inf
    least_dose: float = math.inf
    off: float = 0.0
    alarm: float = 0.0
    low_light: float = 0.0
    low: float = 0.0
    below: float = 0.0
    supplied: float = 0.0
    starts: int = 0


@dataclass
class Flags:
    """What is switched from outside."""

    power: bool = True
    pump: bool = True
    lamp: bool = True
    shut: bool = False
    warm_at: float = 0.0


@dataclass
class Book:
    """Everything written down."""

    log: list = field(default_factory=list)
    days: list = field(default_factory=list)
    bins: np.ndarray = field(default_factory=lambda: np.zeros(122))
    energy: float = 0.0
    supplied: float = 0.0
    pumped: float = 0.0
    mains: float = 0.0


# Volume by dose: 20 bins a decade from 0.1 J/m2, the first for all below, the last for all above.
EDGES = 0.1 * 10.0 ** (np.arange(121) / 20.0)


class House:
    """Tank, pump, switch, train and taps; `changes` are (time, name, value) from outside."""

    def __init__(self, n: Numbers, draws, cuts, changes, water, cistern, n_days):
        self.n, self.env, self.flags, self.book = n, simpy.Environment(), Flags(), Book()
        self.draws, self.water, self.cistern, self.phi = draws, water, cistern, 0.0
        self.on = self.dry = self.mains = False
        self.slow = 0.0  # for how long a pump that holds its pressure has had too little to do
        self.open, self.full = {}, {}
        self.stretch, self.begun, self.done = None, 0.0, 0.0
        self.book.days = [Day() for _ in range(n_days)]
        self.full_at, self.start_at = plain_flow.tank_water(n, n.cut_out), plain_flow.tank_water(n, n.cut_in)
        for each in (self.midnights(n_days), self.power(cuts), self.service(changes), self.taps()):
            self.env.process(each)
        self.env.process(self.plant())
        self.env.run(until=n_days * DAY)
        self.bring()

    # what comes from outside

    def until(self, time):
        return self.env.timeout(max(time - self.env.now, 0.0))

    def midnights(self, n_days):
        for day in range(1, n_days):
            yield self.until(day * DAY)
            self.bring()

    def power(self, cuts):
        for begin, end in cuts:
            yield self.until(begin)
            self.bring()
            self.flags.power = False
            self.note("cut", 0)
            yield self.until(end)
            self.bring()
            self.flags.power = True
            self.note("power back", 0)
            self.warm()

    def warm(self):
        self.flags.warm_at = self.env.now + self.n.warm_up
        self.env.process(self.wait_for_lamp())

    def wait_for_lamp(self):
        yield self.until(self.flags.warm_at)
        self.bring()

    def service(self, changes):
        for time, name, value in changes:
            yield self.until(time)
            self.bring()
            if name == "refill":
                self.cistern += value
            elif name == "warm":
                self.warm()
            else:
                setattr(self.flags, name, bool(value))

    def taps(self):
        for number, draw in enumerate(self.draws):
            yield self.until(draw.start)
            self.env.process(self.tap(number, draw))

    def tap(self, number, draw):
        self.bring()
        draw.phi = self.phi
        self.open[number] = draw
        self.note("opens", number)
        if math.isinf(draw.volume):
            yield self.env.timeout(draw.duration)
        else:
            self.full[number] = self.env.event()
            yield self.full[number] | self.env.timeout(draw.patience)
            del self.full[number]
        self.bring()
        del self.open[number]
        draw.got, draw.seconds = draw.coefficient * (self.phi - draw.phi), self.env.now - draw.start
        wanted = draw.volume
        if math.isinf(wanted):
            wanted = draw.coefficient * math.sqrt(self.n.low_tap) * draw.duration
        draw.unmet = draw.got < self.n.served_share * wanted
        self.note("unmet" if draw.unmet else "ends", number)

    # the plant

    def note(self, what, number):
        self.book.log.append((self.env.now, what, number))

    def plant(self):
        while True:
            if self.env.peek() - self.env.now < NEGLIGIBLE:  # let the others act first
                yield self.env.timeout(max(self.env.peek() - self.env.now, 0.0))
                continue
            self.decide()
            self.plan(self.env.peek() - self.env.now)
            stretch = self.stretch
            yield self.env.timeout(stretch.seconds)
            if self.stretch is stretch:
                self.bring()
                self.land(stretch.ending)

    def decide(self):
        if self.cistern <= self.n.mains_below and self.n.mains:
            self.mains = True
        elif self.cistern >= self.n.mains_until:
            self.mains = False
        if self.cistern <= self.n.intake:
            if not self.dry:
                self.note("trips", 0)
            self.dry = True
        elif self.dry and self.cistern >= self.n.restart:
            self.dry = False
        idle = not self.n.holds or self.slow >= self.n.stop_delay - NEGLIGIBLE
        if self.on and (not self.able or (self.water >= self.full_at and idle)):
            self.on = False
            self.note("pump stops", 0)
        elif not self.on and self.able and self.water <= self.start_at:
            self.on, self.slow = True, 0.0
            self.note("pump starts", 0)
            self.today.starts += 1

    @property
    def able(self):
        return self.flags.power and self.flags.pump and not self.dry

    @property
    def today(self):
        return self.book.days[min(int(self.done / DAY), len(self.book.days) - 1)]

    @property
    def lit(self):
        return self.flags.power and self.flags.lamp and self.begun >= self.flags.warm_at - NEGLIGIBLE

    @property
    def held(self):
        return self.flags.shut or (self.n.valve and (self.n.alarm or not self.lit))

    def plan(self, horizon):
        self.begun = self.done = self.env.now
        taps = sum(draw.coefficient for draw in self.open.values())
        self.asked = 0.0 if self.held else taps
        self.opened = 0.0 if self.held else taps + self.n.leak
        inputs = plain_flow.Inputs(self.on, self.opened, self.able, self.n.mains if self.mains else 0.0)
        self.let_in = inputs.mains
        left = [draw.volume / draw.coefficient - (self.phi - draw.phi) for draw in self.open.values()]
        wanted = min(left, default=math.inf) if self.opened else math.inf
        self.stretch = self.hold(inputs, wanted, horizon) or plain_flow.stretch(
            self.n, inputs, self.water, self.cistern, wanted, horizon
        )

    def hold(self, inputs, wanted, horizon):
        """The stretch of a pump that holds its pressure; None where there is no such pump, or it cannot."""
        self.slowly = False
        if not (self.n.holds and self.on and self.water >= self.full_at):
            return None
        left = self.n.stop_delay - self.slow
        found = plain_flow.held(self.n, inputs, self.cistern, wanted, horizon, left)
        self.slowly = found is not None and found.flow(0.0) < self.n.least_flow_held
        if not self.slowly:
            self.slow = 0.0
        return found

    def land(self, ending):
        if ending == "cut-out":
            self.water = self.full_at
        elif ending == "cut-in":
            self.water = self.start_at
        elif ending == "empty":
            self.water = 0.0
        elif ending in ("dry", "opens", "shuts", "clears"):
            self.cistern = {"dry": self.n.intake, "opens": self.n.mains_below,
                            "shuts": self.n.mains_until, "clears": self.n.restart}[ending]  # fmt: skip
        elif ending == "full":
            for number in list(self.full):
                draw = self.draws[number]
                if draw.coefficient * (self.phi - draw.phi) >= draw.volume * (1.0 - 1e-9):
                    self.full[number].succeed()

    def bring(self):
        """Bring the plant up to the clock; what was planned beyond it no longer holds."""
        stretch, self.stretch = self.stretch, None
        if stretch is None:
            return
        seconds = min(self.env.now - self.begun, stretch.seconds)
        if seconds > 0.0:
            self.write(stretch, seconds)
            self.water, phi, pumped, energy = (float(x) for x in stretch.course(seconds))
            self.phi += phi
            self.slow += seconds if self.slowly else 0.0
            self.cistern += self.let_in * seconds - pumped
            self.book.mains += self.let_in * seconds
            self.book.energy += energy
            self.book.pumped += pumped
        self.done = self.env.now

    # what is written down

    def levels(self):
        """Flows at which something is counted differently, and the pressure below which water is off."""
        tap = self.opened * math.sqrt(self.n.low_tap)
        flows = [self.n.dose_flow / self.n.target, self.n.least_flow, tap]
        return [*flows, *(self.n.dose_flow / EDGES)]

    def crossings(self, stretch, seconds):
        """Times within a stretch at which a counted level is crossed; flow and pressure move one way."""
        found = [0.0, seconds]
        for course, levels in ((stretch.flow, self.levels()), (stretch.pressure, [self.n.trickle])):
            first, last = course(0.0), course(seconds)
            for level in levels:
                if (first - level) * (last - level) < 0.0:
                    found.append(brentq(lambda s, c=course, at=level: c(s) - at, 0.0, seconds, xtol=1e-12))
        return sorted(found)

    def write(self, stretch, seconds):
        today, taps = self.today, list(self.open.values())
        times = self.crossings(stretch, seconds)
        for end in (0.0, seconds):
            self.least(today, taps, stretch.pressure(end), stretch.flow(end))
        for begin, end in itertools.pairwise(times):
            middle = 0.5 * (begin + end)
            volume = self.opened * float(stretch.course(end)[1] - stretch.course(begin)[1])
            self.count(today, taps, end - begin, volume, stretch.pressure(middle), stretch.flow(middle))

    def dose(self, flow):
        if not self.lit:
            return 0.0
        flow = max(flow, self.n.least_flow)  # slower than any test: no more than the slowest tested gave
        return self.n.dose_flow / flow if flow > 0.0 else math.inf

    def least(self, today, taps, pressure, flow):
        today.least_tank = min(today.least_tank, pressure)
        if not taps:
            return
        tap = (flow / self.opened) ** 2 if self.opened > 0.0 else 0.0
        today.least_tap = min(today.least_tap, tap)
        for draw in taps:
            draw.least_tap = min(draw.least_tap, tap)
        if flow > 0.0 and self.asked > 0.0:
            today.least_dose = min(today.least_dose, self.dose(flow))
            for draw in taps:
                draw.least_dose = min(draw.least_dose, self.dose(flow))

    def count(self, today, taps, seconds, volume, pressure, flow):
        today.supplied += volume
        self.book.supplied += volume
        dose = self.dose(flow)
        if self.held or pressure <= self.n.trickle:
            today.off += seconds
        elif not self.lit or (taps and dose < self.n.target):
            today.low_light += seconds
        if self.n.alarm and self.flags.power:
            today.alarm += seconds
        if not taps:
            return
        tap = (flow / self.opened) ** 2 if self.opened > 0.0 else 0.0
        if self.flags.power and not self.held and tap < self.n.low_tap:
            today.low += seconds
        taken = volume * self.asked / self.opened if self.opened else 0.0
        if taken > 0.0:
            self.book.bins[int(np.searchsorted(EDGES, dose, side="right"))] += taken
            if dose < self.n.target:
                today.below += taken
