"""The faults that can be staged and what can be done besides tasks, read from `scenarios/faults`."""

import tomllib
from functools import cache
from importlib.resources import files

from sim.errors import InputError
from sim.scenario.nearest import nearest
from sim.scenario.scenario import Scenario
from sim.scenario.values.quantity import Label, Part
from sim.twin.staging import stage_fault
from sim.twin.world import World
from sim.units import parse

_KINDS = {  # of quantity, of the effects whose amount is one
    "old lamp": "time",
    "coloured water": "absorbance",
    "lost precharge": "pressure",
    "switch drift": "pressure",
}


class First(Part):
    """How the house stood when it was taken over."""

    effect: Label
    amount: float | str = 1.0


class Family(Part):
    """One kind of fault."""

    name: Label
    effect: Label
    amount: float | str = 1.0
    stage: Label | None = None
    first: First | None = None
    mended_by: tuple[Label, ...]
    look: str  # what should have been looked at
    caution: str = ""  # before it is mended
    after: str = ""  # what the mend leaves
    played: str = ""  # what no house does by itself
    passes: bool = False  # by itself, with rain or time

    def prepare(self, world: World) -> None:
        """Leave the house as it was before the fault."""
        if self.first is not None:
            _set(world, self.first.effect, self.first.amount, self.stage)

    def set(self, world: World) -> None:
        """Let the fault begin."""
        _set(world, self.effect, self.amount, self.stage)


class OtherAct(Part):
    """Something to do that is no task of the site."""

    name: Label
    minutes: float
    technician: bool = False


def _set(world: World, effect: str, amount: float | str, stage: str | None) -> None:
    value = parse(amount, _KINDS[effect]) if isinstance(amount, str) else amount
    names = world.scenario.stage_names
    if stage is not None and stage not in names:
        raise InputError(f"fault: this site has no stage {stage!r}; {nearest(stage, names)}")
    stage_fault(world, effect, value, -1 if stage is None else names.index(stage))


@cache
def _tables() -> dict[str, list[dict[str, object]]]:
    return tomllib.loads(files("scenarios").joinpath("faults", "families.toml").read_text(encoding="utf-8"))


@cache
def families() -> dict[str, Family]:
    """Return the faults by name."""
    return {one.name: one for one in map(Family.model_validate, _tables()["family"])}


@cache
def other_acts() -> dict[str, OtherAct]:
    """Return what can be done besides tasks, by name."""
    return {one.name: one for one in map(OtherAct.model_validate, _tables()["act"])}


def family(name: str) -> Family:
    """Return a fault by its name; refused when there is none."""
    if name not in families():
        raise InputError(f"fault: no fault {name!r}; {nearest(name, families())}")
    return families()[name]


def possible(scenario: Scenario) -> list[str]:
    """Return the faults a site can have."""
    return [name for name, one in families().items() if one.stage in (None, *scenario.stage_names)]
