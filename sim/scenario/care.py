"""Who looks after the train, by which rules, at what price."""

import math
from typing import Annotated, Any, Literal

import numpy as np
import numpy.typing as npt
from pydantic import AfterValidator, Field, model_validator

from sim.constants import DAY_S, HOUR_S
from sim.errors import InputError
from sim.scenario.effects import TASK_EFFECTS, TaskEffect, any_needs
from sim.scenario.procedure import RETURN, Procedure, Touched
from sim.scenario.values.quantity import Fraction, Label, Part, Pressure, Time, Volume, not_negative, positive

EVERYTHING = "everything"  # a skip of all tasks
READINGS = "read the gauges"
_TAKEN = (EVERYTHING, READINGS, RETURN)
# Readings a rule can go by: key in the file and field.
READING_FIELDS = {"drop_above": "drop_above_pa", "uv_below": "uv_below", "precharge_off": "precharge_off_pa"}


def _task_name(value: str) -> str:
    if value in _TAKEN:
        raise ValueError(f"stands for something else; wanted another name than {', '.join(_TAKEN)}")
    if ": " in value:
        raise ValueError("wanted a name without ': ', which sets a stage apart")
    return value


TaskName = Annotated[Label, AfterValidator(_task_name)]
Person = Literal["owner", "technician"]


class Task(Procedure):
    """A piece of work: its steps, what it leaves behind, what it takes; a cartridge has its stage's price."""

    name: TaskName
    effects: tuple[TaskEffect, ...]
    touches: tuple[Touched, ...] = ()  # what suffers while it is put off
    order: int = Field(default=55, ge=0, le=100)  # place on a visit, low first
    shows: str = ""  # what a person sees when something calls for it between visits
    share: Fraction = Field(default=1.0, gt=0, le=1)  # of what is there that it takes away
    minutes: float = Field(default=0.0, gt=0, le=2000)  # those of its steps when left out
    part: Label | None = None  # name of the spare it needs
    part_price: float = Field(default=0.0, ge=0, le=1e9)
    shuts_water: bool
    unplugs_uv: bool
    technician_only: bool = False

    @model_validator(mode="after")
    def _goes_together(self) -> "Task":
        for effect in self.effects:
            if self.effects.count(effect) > 1:
                raise ValueError(f"effects: {effect!r} stands twice; wanted each once")
            needs = TASK_EFFECTS[effect]
            for key, needed, given in (
                ("shuts_water", needs.shut, self.shuts_water),
                ("unplugs_uv", needs.unplugged, self.unplugs_uv),
            ):
                if needed and not given:
                    raise ValueError(f"{key}: read false; wanted true, as {effect!r} cannot be had otherwise")
        if self.share < 1.0 and not any_needs(self.effects, "share"):
            known = ", ".join(repr(name) for name, needs in TASK_EFFECTS.items() if needs.share)
            raise ValueError(f"share: goes with none of its effects; wanted one of {known}, or no share")
        return self

    @property
    def on_stage(self) -> bool:
        """Whether it is done on one stage, which the rule names."""
        return any_needs(self.effects, "stage")

    def part_on(self, stage: str | None) -> str | None:
        """Return the spare it takes on a stage; a new cartridge goes by the name of its stage."""
        return stage if "new cartridge" in self.effects else self.part


class Rule(Part):
    """One rule: when a task is due, on which stage, who does it."""

    task: Label
    stage: str | None = None
    when: Literal["calendar", "reading", "failure"]
    every_s: Time = positive("every", ge=HOUR_S, default="1 yr", validate_default=True)
    drop_above_pa: Pressure | None = Field(default=None, alias="drop_above", gt=0)
    uv_below: Fraction | None = Field(default=None, gt=0, le=1)
    precharge_off_pa: Pressure | None = Field(default=None, alias="precharge_off", gt=0)
    by: Person = "owner"

    @model_validator(mode="after")
    def _complete(self) -> "Rule":
        given = len(self.readings)
        if self.when == "reading" and given != 1:
            raise ValueError(f'when = "reading" wants exactly one of {", ".join(READING_FIELDS)}')
        if self.when != "reading" and given:
            raise ValueError(f'{", ".join(self.readings)}: does not go with when = "{self.when}"')
        if self.drop_above_pa is not None and self.stage is None:
            raise ValueError("drop_above goes with a task on a stage")
        return self

    @property
    def readings(self) -> dict[str, float]:
        """Limits of what is read, in SI, by key in the file."""
        found = {key: getattr(self, field) for key, field in READING_FIELDS.items()}
        return {key: limit for key, limit in found.items() if limit is not None}

    @property
    def label(self) -> str:
        """What people call its task."""
        return f"{self.task}: {self.stage}" if self.stage else self.task


class Skip(Part):
    """A span of the run in which nobody does a task, whatever the rules say."""

    task: Label  # or "everything"
    stage: str | None = None  # one stage of a task on stages; all of them when absent
    from_s: Time = not_negative("from", default="0 d", validate_default=True)
    until_s: Time | None = Field(default=None, alias="until")  # to the end of the run when absent

    @model_validator(mode="after")
    def _ordered(self) -> "Skip":
        if self.until_s is not None and self.until_s <= self.from_s:
            raise ValueError("until is not after from; wanted from < until")
        return self

    def holds(self, task: str, stage: str | None, now_s: float) -> bool:
        """Return whether a task is left undone.

        Parameters
        ----------
        task : str
            Name of the task; "everything" asks for a skip of all.
        """
        until_s = math.inf if self.until_s is None else self.until_s
        named = self.task in (EVERYTHING, task) and self.stage in (None, stage)
        return named and self.from_s <= now_s < until_s


class Policy(Part):
    """One way of looking after the house."""

    name: Label
    reading_every_s: Time | None = Field(default=None, alias="reading_every", ge=HOUR_S)
    technician_every_s: Time | None = Field(default=None, alias="technician_every", ge=DAY_S)
    bundle_s: Time = not_negative("bundle", default="0 d", validate_default=True)
    heeds_alarm: bool = True  # someone acts on the UV alarm and on taps that run dry
    rules: tuple[Rule, ...] = Field(default=(), alias="rule")
    skips: tuple[Skip, ...] = Field(default=(), alias="skip")

    @model_validator(mode="after")
    def _reads(self) -> "Policy":
        if any(rule.when == "reading" for rule in self.rules) and self.reading_every_s is None:
            raise ValueError('reading_every is missing; rules with when = "reading" want it')
        return self

    def skipped(self, task: str, stage: str | None, now_s: float) -> bool:
        """Return whether nobody does a task at a time.

        Parameters
        ----------
        task : str
            Name of the task; "everything" asks whether nobody looks after the house at all.
        """
        return any(skip.holds(task, stage, now_s) for skip in self.skips)


Training = Literal["untrained", "trained", "licensed"]


class SlipChance(Part):
    """Chance that a person misses a step of a procedure, by training."""

    on: bool = False
    untrained: Fraction = Field(default=0.0, ge=0, le=0.5)
    trained: Fraction = Field(default=0.0, ge=0, le=0.5)
    licensed: Fraction = Field(default=0.0, ge=0, le=0.5)
    owner: Training = "trained"
    technician: Training = "licensed"

    def of(self, who: str) -> float:
        """Return the chance that a person misses a step.

        Parameters
        ----------
        who : str
            "owner" or "technician".
        """
        training = self.owner if who == "owner" else self.technician
        by_training = {"untrained": self.untrained, "trained": self.trained, "licensed": self.licensed}
        return by_training[training] if self.on else 0.0


def check_training(chance: SlipChance) -> None:
    """Refuse a site whose better trained people miss more steps; what is drawn about it may cross."""
    levels = (chance.untrained, chance.trained, chance.licensed)
    if not chance.untrained >= chance.trained >= chance.licensed:
        read = ", ".join(f"{level:g}" for level in levels)
        raise InputError(
            f"people.slips: read {read} for untrained, trained, licensed; wanted no level below the next"
        )


class People(Part):
    """Owner and technician."""

    adherence: Fraction = Field(gt=0, le=1)  # a due task is done at all
    delay_s: Time = not_negative("delay")  # mean wait before the owner gets round to it
    repair_delay_s: Time = not_negative("repair_delay")  # before a failure is acted on
    put_off_waits: float = Field(
        default=3.0, ge=0, le=100
    )  # mean waits before a task put off is asked for again
    owner_hour: float = Field(ge=0, le=1e9)
    technician_fee: float = Field(ge=0, le=1e9)
    technician_hour: float = Field(ge=0, le=1e9)
    technician_lead_s: Time = not_negative("technician_lead")
    technicians: int = Field(ge=1, le=50)
    technician_other_jobs_per_year: float = Field(ge=0, le=5000)  # other customers' calls that queue
    technician_job_s: Time = positive("technician_job")
    slips: SlipChance = SlipChance()


class Spare(Part):
    """Stock of one part on the shelf."""

    part: Label
    on_shelf: int = Field(ge=0, le=100)
    lead_s: Time = not_negative("lead")


class Prices(Part):
    """Prices in the scenario's own currency; invented unless the scenario says otherwise."""

    currency: Label = Field(max_length=8)
    electricity_kwh: float = Field(ge=0, le=1e9)
    tanker_m3: float = Field(ge=0, le=1e9)
    tanker_load: float = Field(ge=0, le=1e9)
    mains_m3: float = Field(default=3.0, ge=0, le=1e9)

    def of_tanker(self, load_m3: float) -> float:
        """Return what a tanker costs that brings so much water."""
        return self.tanker_load + self.tanker_m3 * load_m3


_Means = float | npt.NDArray[np.float64]


class Goals(Part):
    """What counts: the day's volume below target, the limit on such days, water lost in a cleaning."""

    below_target_volume_m3: Volume = not_negative("below_target_volume")
    limit_days_below_target: float = Field(ge=0, le=366)
    limit_water_off_h: float = Field(default=500.0, ge=0, le=8784)  # a year
    limit_alarm_h: float | None = Field(default=None, ge=0, le=8784)  # a year; none when absent
    days_that_matter: float = Field(default=1.0, gt=0, le=366)  # a year, between two policies
    cleaning_loss_m3: Volume = not_negative("cleaning_loss")

    @property
    def most_alarm_h(self) -> float:
        """Limit of alarm hours a year, infinite where none is set."""
        return math.inf if self.limit_alarm_h is None else self.limit_alarm_h

    def kept(self, days: _Means, water_off_h: _Means, alarm_h: _Means) -> Any:
        """Return whether means a year, single ones or arrays of them, are within all limits."""
        within = (days <= self.limit_days_below_target) & (water_off_h <= self.limit_water_off_h)
        return within & (alarm_h <= self.most_alarm_h)
