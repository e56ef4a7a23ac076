"""Who looks after the train, by which rules, at what price."""

import math
from typing import Literal

from pydantic import Field, model_validator

from sim.constants import DAY_S, HOUR_S
from sim.scenario.values.quantity import Fraction, Label, Part, Pressure, Time, Volume, not_negative, positive

TaskName = Literal[
    "change cartridge",
    "wipe sleeve",
    "wipe sensor window",
    "replace lamp",
    "restore precharge",
    "clear gutters and diverter",
    "clean cistern",
    "take sample",
    "repair pump",
    "repair pressure tank",
]


class Task(Part):
    """What one task takes; parts for cartridges are priced at their stage."""

    name: TaskName
    minutes: float = Field(default=0.0, gt=0, le=2000)  # those of its procedure when left out
    part: Label | None = None  # name of the spare it needs
    part_price: float = Field(ge=0, le=1e9)
    shuts_water: bool
    unplugs_uv: bool
    technician_only: bool = False


class Rule(Part):
    """One rule: when a task is due, on which stage, who does it."""

    task: TaskName
    stage: str | None = None
    when: Literal["calendar", "reading", "failure"]
    every_s: Time = positive("every", ge=HOUR_S, default="1 yr", validate_default=True)
    drop_above_pa: Pressure | None = Field(default=None, alias="drop_above")
    uv_below: Fraction | None = None
    precharge_off_pa: Pressure | None = Field(default=None, alias="precharge_off")
    by: Literal["owner", "technician"] = "owner"

    @model_validator(mode="after")
    def _complete(self) -> "Rule":
        if (self.task == "change cartridge") != (self.stage is not None):
            raise ValueError("stage: wanted for 'change cartridge' and for no other task")
        signals = [self.drop_above_pa, self.uv_below, self.precharge_off_pa]
        given = sum(signal is not None for signal in signals)
        if self.when == "reading" and given != 1:
            raise ValueError('when = "reading" wants exactly one of drop_above, uv_below, precharge_off')
        if self.when != "reading" and given:
            raise ValueError(f'drop_above, uv_below and precharge_off do not go with when = "{self.when}"')
        if self.drop_above_pa is not None and self.stage is None:
            raise ValueError("drop_above goes with a task on a stage")
        return self


class Skip(Part):
    """A span of the run in which nobody does a task, whatever the rules say."""

    task: TaskName | Literal["everything"]
    stage: str | None = None  # one stage of "change cartridge"; all of them when absent
    from_s: Time = not_negative("from", default="0 d", validate_default=True)
    until_s: Time | None = Field(default=None, alias="until")  # to the end of the run when absent

    @model_validator(mode="after")
    def _ordered(self) -> "Skip":
        if self.stage is not None and self.task != "change cartridge":
            raise ValueError("stage: goes with 'change cartridge' and with no other task")
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
        named = self.task in ("everything", task) and self.stage in (None, stage)
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


class Goals(Part):
    """What counts: the day's volume below target, the limit on such days, water lost in a cleaning."""

    below_target_volume_m3: Volume = not_negative("below_target_volume")
    limit_days_below_target: float = Field(ge=0, le=366)
    limit_water_off_h: float = Field(default=500.0, ge=0, le=8784)  # a year
    cleaning_loss_m3: Volume = not_negative("cleaning_loss")
