"""The house: people, pipe, fixtures, leaks, power."""

from typing import Literal

from pydantic import Field, model_validator

from sim.constants import SUSTAINED_CUT_S, YEAR_S
from sim.scenario.nearest import unique
from sim.scenario.values.quantity import (
    Flow,
    Fraction,
    Label,
    Length,
    Part,
    Pressure,
    Time,
    Volume,
    not_negative,
    positive,
)

Fixture = Literal[
    "toilet", "basin", "basins and kitchen sink", "kitchen sink", "shower", "bath", "bath with shower",
    "dishwasher", "clothes washer", "laundry tub", "garden tap",
]  # fmt: skip


class Use(Part):
    """One end use of water."""

    name: Label
    bound: Literal["volume", "time"]
    events_per_person_day: float = Field(ge=0, le=200)
    volume_m3: Volume = positive("volume", default="1 L", validate_default=True)
    duration_s: Time = positive("duration", default="1 min", validate_default=True)
    flow_m3_s: Flow = positive("flow")
    reference_pa: Pressure = positive("reference")
    flow_cv: float = Field(ge=0, le=2)
    size_cv: float = Field(ge=0, le=3)
    day_cv: float = Field(default=0.0, ge=0, le=2)  # of one person, beyond that of the house
    fills: float = Field(default=1.0, ge=1, le=20)
    fill_gap_s: Time = positive("fill_gap", default="10 min", validate_default=True)
    patience_s: Time = positive("patience", default="1 h", validate_default=True)
    weekday: str = "indoor"
    weekend: str = "indoor"
    fixtures: int = Field(default=1, ge=1, le=1000)
    fixture: Fixture | None = None  # what they are, for peaks counted by fixtures; no run reads it


class House(Part):
    """People, pipe and leaks between the train and the taps."""

    people: float = Field(gt=0, le=2000)
    habit_factor: float = Field(gt=0, le=10)  # on how long water runs, beside the mean home
    day_factor_cv: float = Field(ge=0, le=1)
    day_kept_share: Fraction = Field(ge=0, lt=1)  # chance that a day is as busy as the day before
    weekend_ratio: float = Field(gt=0, le=10)
    sessions_per_person_day: float = Field(ge=0, le=200)  # 0: every draw comes by itself
    session_median_s: Time = positive("session_median")  # from its beginning to one of its draws
    session_spread: float = Field(ge=0, le=3)  # lognormal sigma
    away_spans_per_year: float = Field(ge=0, le=52)
    away_s: Time = not_negative("away", le=YEAR_S)
    guest_days_per_year: float = Field(ge=0, le=366)
    guests: float = Field(ge=0, le=1000)
    lift_m: Length = Field(alias="lift", ge=-20, le=60)  # highest fixture above the gauge
    lowest_tap_m: Length = Field(alias="lowest_tap", ge=-20, le=60)  # cold, over the housings
    pipe_length_m: Length = positive("pipe_length")
    pipe_bore_m: Length = positive("pipe_bore")
    pipe_roughness_m: Length = not_negative("pipe_roughness")
    fittings_k: float = Field(ge=0, le=500)
    friction_flow_m3_s: Flow = positive("friction_flow")
    valve_k: float = Field(ge=0, le=50)
    bypass_k: float = Field(default=2.0, gt=0, le=100)  # of the bypass with its valve, where there is one
    leak_m3_s: Flow = not_negative("leak")
    leak_reference_pa: Pressure = positive("leak_reference")
    low_tap_pa: Pressure = positive("low_tap")
    served_share: Fraction = Field(gt=0, le=1)
    altitude_m: Length = Field(alias="altitude", ge=-400, le=5000)
    uses: tuple[Use, ...] = Field(alias="use", min_length=1)

    @model_validator(mode="after")
    def _agrees(self) -> "House":
        unique("use", (use.name for use in self.uses))
        if self.pipe_roughness_m > 0.5 * self.pipe_bore_m:
            raise ValueError("pipe_roughness is more than half of pipe_bore; wanted less")
        return self


class PowerSupply(Part):
    """Power cuts by the indices of a utility: a Poisson process, lengths lognormal beyond five minutes."""

    saifi_per_year: float = Field(alias="saifi", ge=0, le=1000)  # interruptions a customer has
    saidi_s: Time = not_negative("saidi", le=YEAR_S)  # time without power a customer has a year
    cut_spread: float = Field(ge=0, le=3)  # lognormal sigma

    @model_validator(mode="after")
    def _agrees(self) -> "PowerSupply":
        least_s = SUSTAINED_CUT_S * self.saifi_per_year
        if self.saifi_per_year > 0 and self.saidi_s <= least_s:
            raise ValueError(
                f"saidi of {self.saidi_s / 60.0:.4g} min a year is too little for {self.saifi_per_year:g} "
                f"cuts of over 5 min (saifi); wanted more than {least_s / 60.0:.4g} min"
            )
        return self
