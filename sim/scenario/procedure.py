"""How a task is done: what the train has to hand, ordered steps, and what a missed step leads to."""

from collections.abc import Iterable
from typing import Literal

from pydantic import Field, model_validator

from sim.scenario.effects import SLIP_AMOUNTS, SlipEffect
from sim.scenario.values.quantity import (
    Dose,
    Flow,
    Fraction,
    Label,
    Part,
    Time,
    Volume,
    not_negative,
    positive,
)

FittingName = Literal[
    "inlet valve",
    "outlet valve",
    "bypass valve",
    "sampling valve before UV",
    "sampling valve after UV",
    "chamber sampling valve",  # at the chamber, before a shut-off valve at its outlet
    "relief button",
    "shut-off valve at inlet",
    "shut-off valve at outlet",
    "shut-off lever",
    "tank valve",
    "tank drain",
    "pump switch",
    "UV plug",
    "sensor plug",
]
PartName = Literal[
    "tap upstairs",
    "lowest tap",
    "housing",
    "cartridge",
    "UV chamber",
    "sleeve",
    "lamp",
    "sensor",
    "sensor of a dry port",
    "tank",
    "cistern hatch",
]
# Where each stands when the house has water and the UV unit is lit.
AT_REST: dict[str, str] = {
    "inlet valve": "open",
    "outlet valve": "open",
    "bypass valve": "shut",
    "sampling valve before UV": "shut",
    "sampling valve after UV": "shut",
    "chamber sampling valve": "shut",
    "relief button": "shut",
    "shut-off valve at inlet": "open",
    "shut-off valve at outlet": "open",
    "shut-off lever": "shut",
    "tank valve": "open",
    "tank drain": "shut",
    "pump switch": "on",
    "UV plug": "in",
    "sensor plug": "in",
    "tap upstairs": "shut",
    "lowest tap": "shut",
    "housing": "shut",
    "cartridge": "in",
    "UV chamber": "shut",
    "sleeve": "in",
    "lamp": "in",
    "sensor": "in",
    "sensor of a dry port": "in",
    "tank": "shut",
    "cistern hatch": "shut",
}
Position = Literal["open", "shut", "on", "off", "in", "out"]
_PAIRS = ({"open", "shut"}, {"on", "off"}, {"in", "out"})
State = Literal["water shut", "relieved", "unplugged", "sensor unplugged", "pump off", "tank drained"]
Act = Literal[
    "tell",
    "all told",
    "shut the cocks",  # before what the step works
    "run",  # wait at what is open
    "prove housing",
    "prove chamber",
    "cool",
    "warm",
    "read",
    "flush a tap",
    "flush every tap",
]
# What calls for a caution on the step itself: something comes open, or water goes back to the taps.
CAUTIOUS: dict[str, str] = {
    "housing": "open",
    "UV chamber": "open",
    "lamp": "out",
    "sensor": "out",
    "sensor of a dry port": "out",
    "tank": "open",
    "cistern hatch": "open",
    "outlet valve": "open",
}


def opposite(position: str) -> str:
    """Return the other position of a device."""
    return next(other for pair in _PAIRS if position in pair for other in pair if other != position)


Route = Literal["no water", "display", "wet floor", "taps", "sample", "next visit", "at once"]
RETURN = "return to service"
Touched = Literal["water", "dose", "reading"]
_AMOUNT_FIELDS = {"leak": "leak_m3_s", "reading_left": "reading_left", "spill": "spill_m3"}


class Fitting(Part):
    """A valve, plug or switch that this train has."""

    name: FittingName
    where: str = Field(min_length=1)


class Step(Part):
    """One step of a procedure, in the order it is done."""

    id: str = Field(min_length=1)
    text: str = Field(min_length=1)
    minutes: float = Field(ge=0, le=2000)
    tool: str = ""
    who: Literal["anyone", "licensed"] = "anyone"
    present: tuple[FittingName, ...] = Field(default=(), alias="with")  # the step goes with these alone
    absent: tuple[FittingName, ...] = Field(default=(), alias="without")  # it stands in for these
    needs: tuple[State, ...] = ()  # what the plant must be in before
    operates: dict[FittingName | PartName, Position] = Field(default_factory=dict)
    acts: tuple[Act, ...] = ()  # what it does beside
    caution: str = ""
    differs: str = ""  # where practice differs
    missed: str = Field(min_length=1)  # what happens when it is left out
    slip: Label | None = None
    finds: tuple[Label, ...] = ()  # slips of earlier steps that this one brings to light

    @model_validator(mode="after")
    def _holds(self) -> "Step":
        for device, position in self.operates.items():
            pair = next(pair for pair in _PAIRS if AT_REST[device] in pair)
            if position not in pair:
                raise ValueError(f"operates.{device}: read {position!r}; wanted {' or '.join(sorted(pair))}")
            if CAUTIOUS.get(device) == position and not self.caution:
                raise ValueError(f"caution: is missing; wanted one where {device!r} goes to {position!r}")
        return self

    def goes_with(self, fittings: frozenset[str]) -> bool:
        """Return whether the step is part of the work on a train with these fittings."""
        worked = {device for device in self.operates if device in FITTINGS}
        return worked | set(self.present) <= fittings and not set(self.absent) & fittings


FITTINGS: tuple[str, ...] = FittingName.__args__  # type: ignore[attr-defined]


class Block(Part):
    """Steps that several procedures have in common."""

    name: str = Field(min_length=1)
    steps: tuple[Step, ...] = Field(alias="step", min_length=1)


class Procedure(Part):
    """How a piece of work is done: blocks before, its own steps, blocks after."""

    purpose: str = ""
    caution: str = ""
    before: tuple[str, ...] = ()
    steps: tuple[Step, ...] = Field(default=(), alias="step")
    after: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _told(self) -> "Procedure":
        if self.steps and not self.purpose:
            raise ValueError("purpose: is missing; wanted what the work is for, as it has steps")
        if not self.steps and (self.before or self.after):
            raise ValueError("step: is missing; wanted steps between those of before and after")
        return self


class Guide(Procedure):
    """What is done when something happens that no rule calls for."""

    name: Label
    follows: Label | None = None  # begins where that guide ends, with water that stood


class Slip(Part):
    """What a missed step leads to, how it is noticed, and what it takes to put right."""

    name: Label
    effect: SlipEffect
    opens_train: bool = False  # put right with the train shut and the unit unplugged
    after_wipe: bool = False  # a low reading of it is minded only when a wipe did not help
    does: str = Field(min_length=1)
    shows: str = Field(min_length=1)  # what a person can see
    touches: tuple[Touched, ...] = ()
    seen_by: dict[Route, Time] = Field(min_length=1)  # mean time from when it shows to when someone minds it
    chance_factor: float = Field(default=1.0, ge=0, le=100)  # chance against that of any step
    mend: str = Field(min_length=1)
    minutes: float = Field(ge=0, le=2000)
    price: float = Field(default=0.0, ge=0, le=1e9)
    lead_s: Time = not_negative("lead", default="0 d", validate_default=True)
    reading_left: Fraction = Field(default=1.0, gt=0, le=1)  # of the true reading
    leak_m3_s: Flow = not_negative("leak", default=0.0)  # at house.leak_reference
    spill_m3: Volume = not_negative("spill", default=0.0)
    dries_s: Time | None = Field(default=None, alias="dries")  # goes by itself

    @model_validator(mode="after")
    def _agrees(self) -> "Slip":
        amounts = {"leak": self.leak_m3_s, "reading_left": 1.0 - self.reading_left, "spill": self.spill_m3}
        wanted = SLIP_AMOUNTS.get(self.effect)
        if wanted and _AMOUNT_FIELDS[wanted] not in self.model_fields_set:
            raise ValueError(f"{wanted}: is missing; wanted how much, as the effect is {self.effect!r}")
        for name, amount in amounts.items():
            if name != wanted and amount > 0.0:
                raise ValueError(f"{name}: does not go with the effect {self.effect!r}")
        if ("at once" in self.seen_by) != (self.effect == "spill under pressure"):
            raise ValueError('seen_by: "at once" and the effect "spill under pressure" go together')
        for name, given in (("dries", self.dries_s is not None), ("after_wipe", self.after_wipe)):
            if given and self.effect != "low reading":
                raise ValueError(f'{name}: goes with the effect "low reading" alone; read {self.effect!r}')
        return self


class Sample(Part):
    """A sample of tap water: coliforms present or absent in 100 mL, and what a find leads to."""

    acted_on: bool
    result_after_s: Time = not_negative("result_after")
    looks_back_s: Time = positive("looks_back")  # water of so long can still be in pipes and heater
    raw_count: int = Field(ge=0, le=1e6)
    log_dose_j_m2: Dose = positive("dose_for_one_log")
    false_positive_share: Fraction = Field(ge=0, le=0.5)
    price: float = Field(ge=0, le=1e9)  # disinfectant and the sample after it


def expanded(procedure: Procedure, blocks: Iterable[Block]) -> tuple[Step, ...]:
    """Return all steps of a procedure with those of its blocks, in order."""
    known = {block.name: block.steps for block in blocks}
    before = (step for name in procedure.before for step in known[name])
    after = (step for name in procedure.after for step in known[name])
    return (*before, *procedure.steps, *after)
