"""An expert who knows the signs and never the truth: looks every other day, checks what has changed."""

from dataclasses import dataclass
from statistics import fmean

from sim.drill.case import Case, Move
from sim.drill.play import HANDLES, SENSOR, SWITCH, TANKER, Ended, Play
from sim.drill.sight import Seen
from sim.units import PSI_PA, Units

EVERY, ROUND = 2, 3  # days between looks, looks between rounds of all the gauges
FELL, SENSED = 0.10, 0.06  # of the reading: a sudden fall, and what a wipe must bring back to have been it
ALL_OF_IT = 0.75  # of the fall that a wipe must bring back
LOW_M = 0.1  # water above the intake
LOST_M = 0.5  # between two rounds: more than a house draws in a week [A]
FILLED_M = 0.2  # a cistern that rose by so much took much off the roof, which loads a cartridge at once
DRIFTED_PA, CLOGGED_PA, ROSE_PA, FELL_PA = 8.0 * PSI_PA, 9.0 * PSI_PA, 5.0 * PSI_PA, 3.0 * PSI_PA
RAINED_PA = 15.0 * PSI_PA  # more than rain brings in a week: 7 psi at most in six runs of each site [A]
LAST = 3  # rounds whose mean a drop is set beside
OLD = 1.5  # lamp hours over the rated ones
SURE, LIKELY = 0.95, 0.8
AGAIN, VAIN = 5, 20  # days before the same thing is done again, and after it did not help [A]
NOTHING = ""  # to be done
COLOURED, EMPTY = "coloured water", "cistern down to the intake"
STRAINED = "sensor strained by overtightening"
TOUCHING = ("new cartridge", HANDLES)  # after which a drop is no longer what it was
_WIPES = (("wiped sensor window", "film on the sensor window"), ("wiped sleeve", "film on the sleeve"))

_WRONG = {
    "bypass": "open bypass",
    "plug": "unplugged unit",
    "shut": "shut valve",
}  # of handles, and its cause


@dataclass(frozen=True)
class Verdict:
    """What the expert makes of the signs."""

    cause: str
    probability: float
    effect: str  # of the task that mends it, or the name of another act
    stage: str | None = None


class Expert:
    """Plays a case."""

    def __init__(self, case: Case, units: Units):
        """Read the notes of those who had the house before."""
        self.play = Play(case, units)
        self.known = {seen.what: seen.values for seen in self.play.notes}
        self.last = self.known["what anyone sees"].get("display")
        self.sure = 0.0  # of the cause believed
        self.drops = [self.known["gauges"]]  # of each round since the train was last touched
        self.did: dict[tuple[str, str | None], int] = {}  # day of each act
        self.helped: dict[str, bool] = {}  # whether the last wipe raised the display
        self.shade, self.darker = self.known["glass"]["shade"], False  # of the water, than at the look before
        self.depth, self.filled = self.known["cistern stick"]["depth"], False  # since the round before

    def run(self) -> Ended:
        """Play to the end."""
        looks = 0
        while not self.play.over:
            seen = self.play.see()
            self._hold_up_a_glass()
            looks += 1
            if self._odd(seen) or looks % ROUND == 0:
                self._mend(self._verdict(seen))
            self._answer_alarm()
            if self.play.over:
                break
            self.last = self.play.see().values.get("display")
            self.play.move(Move(move="wait", days=EVERY))
        return self.play.finish()

    def _answer_alarm(self) -> None:
        """Walk along the handles; then wipe window and sleeve, for an alarm by what gathers slowly."""
        if not self.play.over and self.play.see().values["alarm"]:
            self._mend(self._by_handles())
        for effect, _ in _WIPES:
            if self.play.over or not self.play.see().values["alarm"]:
                return
            if self.play.see().values.get("display", 1.0) >= self.known["label"]["alarm"]:
                return  # what was done a moment ago helped, and the unit has not said so yet
            wait = AGAIN if self.helped.get(effect, True) else VAIN
            if self.play.day - self.did.get((effect, None), -wait) >= wait:
                self.helped[effect] = self._gain(effect, None) > SENSED

    def _hold_up_a_glass(self) -> None:
        """Where water is never quite clear, only a darker shade than at the last look is a sign."""
        shade = self._check("glass")["shade"]
        self.darker, self.shade = shade > self.shade, shade

    def _check(self, what: str) -> dict[str, float]:
        return self.play.move(Move(move="check", what=what)).values

    def _odd(self, seen: Seen) -> bool:
        display = seen.values.get("display")
        fell = display is None or (self.last is not None and self.last - display > FELL)
        return bool(fell or seen.values["dry"] or seen.values["weak"] or seen.values["restless"])

    def _verdict(self, seen: Seen) -> Verdict | None:
        found, display = self._by_handles(), seen.values.get("display")
        if found is not None:
            return found
        if display == 0.0:
            return Verdict("dark lamp", SURE, "new lamp")
        stick = self._check("cistern stick")
        rose_m = stick["depth"] - self.depth
        self.filled, self.depth = rose_m > FILLED_M, stick["depth"]
        if stick["above"] < LOW_M:  # by no rain for long it sinks slowly, and that is no fault
            return Verdict(EMPTY, SURE if -rose_m > LOST_M else 0.0, TANKER)
        if -rose_m > max(stick["above"], LOST_M):  # more is gone than is left: it filled again by rain
            return Verdict(EMPTY, LIKELY, NOTHING)
        return self._by_light(display) or self._by_pump() or self._by_flow()

    def _by_handles(self) -> Verdict | None:
        handles = self._check("handles")
        found = next((cause for name, cause in _WRONG.items() if handles[name]), None)
        return None if found is None else Verdict(found, SURE, HANDLES)

    def _by_pump(self) -> Verdict | None:
        before = self.known["pump"]["run"]
        pump = self._check("pump")
        if pump["run"] == 0.0:
            return None
        if pump["high"] < self.known["pump"]["high"] - DRIFTED_PA:
            return Verdict("pressure switch drifted", SURE, SWITCH)
        if pump["run"] < 0.3 * before:
            return Verdict("waterlogged tank", SURE, "new pressure tank")
        return Verdict("lost precharge", LIKELY, "set precharge") if pump["run"] < 0.75 * before else None

    def _by_flow(self) -> Verdict | None:
        """Tell a drop that moved at once from one that rose by wear or rain: changed, and no fault."""
        before = {stage: fmean(one[stage] for one in self.drops[-LAST:]) for stage in self.drops[-1]}
        drops = self._check("gauges")
        if any(abs(drop - before[stage]) > FELL_PA for stage, drop in drops.items()):
            self.play.move(Move(move="wait", days=1))  # a gauge that was misread reads otherwise next day
            if self.play.over:
                return None
            again = self._check("gauges")
            drops = {stage: 0.5 * (drops[stage] + again[stage]) for stage in drops}
        self.drops.append(drops)
        moved = {stage: drop - before[stage] for stage, drop in drops.items()}
        due = [stage for stage, drop in drops.items() if drop > CLOGGED_PA]
        if due:
            stage = max(due, key=lambda name: moved[name])
            sure = SURE if moved[stage] > (RAINED_PA if self.filled else ROSE_PA) else 0.0
            return Verdict(f"clogged {stage} cartridge", sure, "new cartridge", stage)
        if self._check("bucket")["seconds"] > 1.3 * self.known["bucket"]["seconds"]:
            return Verdict("half-shut valve", LIKELY, HANDLES)
        stage = min(moved, key=lambda name: moved[name])
        return Verdict("torn cartridge", SURE, "new cartridge", stage) if moved[stage] < -FELL_PA else None

    def _by_light(self, display: float | None) -> Verdict | None:
        """Tell why less light is measured: the cause is what brings most of the fall back."""
        if display is None or self.last is None or self.last - display <= FELL:
            return None
        wanted, coloured = max(SENSED, ALL_OF_IT * (self.last - display)), False
        if self.darker:
            if self._brings("new cartridge", self.play.scenario.stage_names[-1], wanted, COLOURED):
                return None
            coloured = not self.play.over and self._check("glass")["shade"] >= self.shade
        if self.play.over:
            return None
        lamp = self._check("lamp hours")
        if lamp["hours"] > OLD * lamp["rated"]:
            return Verdict("old lamp", SURE, "new lamp")
        if any(self._brings(effect, None, wanted, cause) for effect, cause in _WIPES):
            return None
        return Verdict(COLOURED, LIKELY, NOTHING) if coloured else Verdict(STRAINED, LIKELY, SENSOR)

    def _brings(self, effect: str, stage: str | None, wanted: float, cause: str) -> bool:
        """Do one thing; name the cause if the display rises by as much as is wanted."""
        rose = self._gain(effect, stage) > wanted
        if rose:
            self._believe(cause, LIKELY)
        return rose

    def _gain(self, effect: str, stage: str | None) -> float:
        """Do one thing; return by how much the display rose."""
        if self.play.over:
            return 0.0
        before = self.play.see().values.get("display", 0.0)
        self._do(effect, stage)
        return 0.0 if self.play.over else self.play.see().values.get("display", 0.0) - before

    def _mend(self, verdict: Verdict | None) -> None:
        if verdict is None or self.play.over:
            return
        key = (verdict.effect, verdict.stage)
        again = verdict.effect != TANKER and self.play.day - self.did.get(key, -AGAIN) < AGAIN
        if not again:
            self._believe(verdict.cause, verdict.probability)
            if verdict.effect != NOTHING:
                self._do(*key)

    def _believe(self, cause: str, probability: float) -> None:
        """Name a cause; the first is not taken back for what came later, or of it."""
        if not self.play.over and cause in self.play.causes and probability > 0.0 == self.sure:
            self.sure = probability
            self.play.move(Move(move="believe", what=cause, probability=probability))

    def _do(self, effect: str, stage: str | None) -> None:
        if self.play.over:
            return
        self.did[effect, stage] = self.play.day
        task = next((one.name for one in self.play.scenario.tasks if effect in one.effects), effect)
        self.play.move(Move(move="act", what=task, stage=stage))
        if effect in TOUCHING and not self.play.over:
            self.drops = [self._check("gauges")]


def expert(case: Case, units: Units = "us") -> Ended:
    """Return what an expert makes of the same case, on the same streams; units are of the words alone."""
    return Expert(case.model_copy(update={"moves": ()}), units).run()
