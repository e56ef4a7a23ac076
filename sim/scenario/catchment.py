"""What falls and what is kept: rain, roof, gutters, first flush, cistern."""

import re
from typing import Literal

from pydantic import Field, field_validator

from sim.constants import DAY_S
from sim.scenario.values.quantity import (
    Absorbance,
    Area,
    ArealLoad,
    Concentration,
    Density,
    Flow,
    Fraction,
    Length,
    Part,
    PerLength,
    PerVolume,
    Rate,
    Temperature,
    Time,
    Volume,
    not_negative,
    positive,
)


class RainSource(Part):
    """Where daily rain comes from: a recorded series, or a generator with a monthly table."""

    climate: str = Field(default="marine west coast", min_length=1)  # name of a built-in monthly table
    record: str | None = None  # CSV beside the scenario; overrides the generator
    years: Literal["resampled", "in order"] = "resampled"
    date_column: str = "date"
    depth_column: str = "precipitation"
    date_format: str | None = None  # strptime pattern; ISO dates when absent
    depth_unit: Literal["mm", "cm", "in"] = "mm"
    # How a record marks a day nobody read, such as "-9999", or "" where such a day is blank or has no line.
    # The calendar year of a missing day is left out, and said so; without this key it is refused.
    missing: str | None = None
    wet_day_m: Length = not_negative("wet_day", default="0.1 mm", validate_default=True)
    # Weather of the generator; the defaults are those of base.toml.
    weather_memory_s: Time = positive(
        "weather_memory", le=120 * DAY_S, default="10 d", validate_default=True
    )  # time in which its correlation falls to 1/e
    wetness_spread: float = Field(default=0.8, ge=0, le=3)  # on the logit of the chance of a wet day
    depth_spread: float = Field(default=0.2, ge=0, le=1)  # on the logarithm of the depth of a wet day

    @field_validator("missing")
    @classmethod
    def _no_depth(cls, mark: str | None) -> str | None:
        if mark and re.fullmatch(r"[+-]?0*\.?0*", mark):
            raise ValueError("is how a day without rain reads; wanted the mark of a day nobody read")
        return mark


class Roof(Part):
    """Roof, gutters and first-flush diverter, with the dirt that gathers there."""

    area_m2: Area = positive("area")
    coefficient: Fraction = Field(gt=0, le=1)
    wetting_loss_m: Length = not_negative("wetting_loss", lt=0.02)
    first_flush_m: Length = not_negative("first_flush", lt=0.05)
    first_flush_reset_s: Time = not_negative("first_flush_reset")
    dust_limit_kg_m2: ArealLoad = not_negative("dust_limit")
    dust_time_s: Time = positive("dust_time")
    dust_base_kg_m3: Concentration = not_negative("dust_base")
    dust_washoff_per_m: PerLength = positive("dust_washoff")
    colour_limit_mm_per_m: float = Field(
        ge=0, le=1e6
    )  # absorbance (1/m) times depth (mm) that dry days build up
    colour_base_per_m: Absorbance = not_negative("colour_base")
    grain_median_m: Length = positive("grain_median")
    grain_spread: float = Field(ge=1.01, le=10)  # geometric standard deviation
    gutter_decay_per_s: Rate = not_negative("gutter_decay")  # how fast gutters and diverter need clearing
    gutter_dirt_factor: float = Field(
        ge=1, le=1000
    )  # runoff is this much dirtier with wholly neglected gutters


class Cistern(Part):
    """Cistern, intake, sludge and top-up."""

    capacity_m3: Volume = positive("capacity")
    floor_m2: Area = positive("floor")
    intake_m: Length = not_negative("intake")
    start_fill: Fraction = Field(ge=0, le=1)
    start_solids_kg_m3: Concentration = not_negative("start_solids")
    start_colour_per_m: Absorbance = not_negative("start_colour")
    grain_kg_m3: Density = Field(alias="grain_density", gt=1000)
    start_sludge_kg_m2: ArealLoad = not_negative("start_sludge")
    calmed_inlet: bool
    stir_up_per_m3: PerVolume = not_negative("stir_up")  # sludge resuspended per m3 of inflow, share
    low_draw_per_m3: PerVolume = not_negative(
        "low_draw"
    )  # sludge drawn per m3 of draw at the lowest level, share
    low_level: Fraction = Field(ge=0, le=1)  # of the usable depth, below which sludge is drawn
    colour_decay_per_s: Rate = not_negative("colour_decay")
    water_mean_c: Temperature = Field(alias="water_mean", ge=0, le=40)
    water_swing_c: float = Field(alias="water_swing_k", ge=0, le=20)
    warmest_day: int = Field(ge=1, le=366)
    top_up_below: Fraction = Field(ge=0, le=1)  # of capacity; 0 means no tanker is ever ordered
    top_up_m3: Volume = positive("top_up")
    top_up_lead_s: Time = not_negative("top_up_lead")
    # It stands above the house and feeds it by its level, so deep below its floor as pump.height says
    gravity_feed: bool = False
    # Mains through an air gap, or none: a float valve lets this flow in from one level to a higher one
    mains_m3_s: Flow | None = positive("mains_flow", default=None)
    mains_below: Fraction = Field(default=0.12, ge=0, le=1)  # of capacity
    mains_until: Fraction = Field(default=0.2, ge=0, le=1)

    @property
    def mains_below_m3(self) -> float:
        """Volume at which the float valve of the mains opens; below any where there is none [m3]."""
        return -1.0 if self.mains_m3_s is None else float(self.mains_below * self.capacity_m3)
