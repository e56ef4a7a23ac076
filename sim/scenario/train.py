"""The pressure side: pump, switch, pressure tank, gauge, cartridges, UV."""

import math
import tomllib
from functools import cache
from importlib.resources import files
from typing import Literal

from pydantic import Field, model_validator

from sim.constants import TRICKLE_M3_S
from sim.scenario.nearest import nearest
from sim.scenario.values.quantity import (
    Absorbance,
    Dose,
    Flow,
    Fraction,
    Label,
    Law,
    Length,
    LinearResistance,
    Mass,
    Part,
    Power,
    Pressure,
    PressureRate,
    PumpCurve,
    QuadraticResistance,
    Rate,
    SpecificAbsorbance,
    Temperature,
    Time,
    Volume,
    not_negative,
    positive,
)


class Pump(Part):
    """Pump with a quadratic curve, its wear, and protection against running dry."""

    shutoff_head_m: Length = positive("shutoff_head", le=300)
    curve_s2_m5: PumpCurve = positive("curve")
    suction_s2_m5: PumpCurve = not_negative("suction_loss")
    height_m: Length = Field(alias="height", ge=-70, le=30)  # gauge and pump above the cistern floor
    best_flow_m3_s: Flow = positive("best_flow")
    best_efficiency: Fraction = Field(gt=0, le=0.9)
    wear_per_s: Rate = not_negative("wear")  # loss of shut-off head, share per year of running
    # Weibull scales of its life by running, by starts, by age: whichever comes first, in distribution
    life_s: Time = positive("life")
    life_start_count: float = positive("life_starts", le=1e12)
    life_age_s: Time = positive("life_age")
    life_shape: float = Field(ge=0.1, le=10)
    short_run_wear_factor: float = not_negative("short_run_wear", le=100)  # starts, on top of its own
    npsh_required_m: Length = not_negative("npsh_required", le=20)
    cavitation_wear_factor: float = Field(alias="cavitation_wear", ge=1, le=1000)  # hours an hour counts for
    motor_w: Power | None = positive("motor", default=None)  # its rating
    most_starts_per_h: float | None = Field(default=None, alias="most_starts_per_hour", gt=0, le=1000)
    restart_m: Length = not_negative("restart")  # water above the intake before a dry-run trip clears
    # "constant pressure": the speed holds cut_out; it starts at cut_in and stops when too little flows
    speed: Literal["fixed", "constant pressure"] = "fixed"
    least_flow_m3_s: Flow = not_negative("least_flow", default="0.5 gpm", validate_default=True)
    stop_delay_s: Time = positive("stop_delay", default="10 s", validate_default=True)
    drive_efficiency: Fraction = Field(default=0.95, ge=0.3, le=1)

    standby: bool = False  # a second like pump takes over when the running one fails, after this time
    standby_after_s: Time = not_negative("standby_after", default="1 min", validate_default=True)

    @property
    def holds(self) -> bool:
        """Whether it holds its pressure by its speed."""
        return self.speed == "constant pressure"


class PressureSwitch(Part):
    """Cut-in and cut-out, and how they drift."""

    cut_in_pa: Pressure = positive("cut_in", le=1e6)
    cut_out_pa: Pressure = positive("cut_out", le=1e6)
    drift_pa_per_s: PressureRate = Field(alias="drift")

    @model_validator(mode="after")
    def _ordered(self) -> "PressureSwitch":
        if self.cut_in_pa >= self.cut_out_pa:
            raise ValueError("cut_in is not below cut_out; wanted cut_in < cut_out")
        return self

    @property
    def band_pa(self) -> float:
        """Pressure between cut-in and cut-out [Pa]."""
        return float(self.cut_out_pa - self.cut_in_pa)


class PressureTank(Part):
    """Captive-air tank."""

    volume_m3: Volume = positive("volume")
    precharge_pa: Pressure = not_negative("precharge", le=1e6)
    gas_exponent: float = Field(ge=1.0, le=1.4)
    precharge_loss_per_s: Rate = not_negative("precharge_loss")  # share of the precharge lost a year
    bladder_life_s: Time = positive("bladder_life")
    bladder_life_shape: float = Field(ge=0.1, le=10)
    waterlogged_share: Fraction = Field(ge=0.001, lt=1)  # air volume left when the bladder has failed
    most_pressure_pa: Pressure | None = positive("most_pressure", default=None)  # it is rated for


class Gauge(Part):
    """What a person can read, and how well."""

    reading_sd_pa: Pressure = not_negative("reading_sd")
    reading_flow_m3_s: Flow = positive("reading_flow")  # a tap is opened to this flow to read drops
    uv_reading_sd: Fraction = Field(ge=0, le=0.2)


OWN_SIZE = "own"  # of a cartridge that is no nominal size


@cache
def nominal_sizes() -> tuple[str, ...]:
    """Return the nominal cartridge sizes of the table."""
    table = files("scenarios").joinpath("sizes", "table.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(table)["cartridge"])


class Stage(Part):
    """One cartridge stage; several housings may stand in parallel."""

    name: Label
    size: Label  # label of the nominal size, such as 4.5x20
    rating_m: Length = positive("rating")
    efficiency_at_rating: Fraction = Field(ge=0.001, le=0.999999)
    sharpness: float = Field(ge=0.1, le=10)
    housings: int = Field(ge=1, le=20)
    linear_pa_s_m3: LinearResistance = positive("clean_linear")
    quadratic_pa_s2_m6: QuadraticResistance = not_negative("housing_quadratic")
    dirt_capacity_kg: Mass = positive("dirt_capacity")
    terminal_rise_pa: Pressure = positive("terminal_rise")
    rated_flow_m3_s: Flow = positive("rated_flow")
    exponent: Law = Field(alias="law", ge=0, le=2)
    plateau: Fraction = Field(default=0.0, ge=0, le=0.9)  # of the capacity, taken before resistance grows
    capacity_cv: float = Field(default=0.0, ge=0, le=1)  # of like cartridges
    age_limit_s: Time = positive("age_limit")
    collapse_pa: Pressure = positive("collapse")
    released_share: Fraction = Field(ge=0, le=1)  # of the load, set free when it tears
    carbon_bed_m3: Volume = not_negative("carbon_bed")  # 0: no carbon
    carbon_initial: Fraction = Field(ge=0, le=1)
    carbon_floor: Fraction = Field(ge=0, le=1)
    carbon_half_bed_volumes: float = Field(gt=0, le=1e9)
    carbon_steepness: float = Field(gt=0, le=100)
    price: float = Field(ge=0, le=1e9)
    most_pressure_pa: Pressure | None = positive("most_pressure", default=None)  # its housing is rated for

    @model_validator(mode="after")
    def _sized(self) -> "Stage":
        if self.size != OWN_SIZE and self.size not in nominal_sizes():
            known = nearest(self.size, nominal_sizes())
            raise ValueError(
                f"size: read {self.size!r}; {known}, and {OWN_SIZE!r} for what is no nominal size"
            )
        return self

    @model_validator(mode="after")
    def _carbon(self) -> "Stage":
        if self.carbon_floor > self.carbon_initial:
            raise ValueError("carbon_floor is above carbon_initial; wanted carbon_floor <= carbon_initial")
        return self


class Uv(Part):
    """UV unit as its data sheet rates it, with lamp, sleeve, sensor window, alarm and shut-off valve.

    All but units, arrangement and restrictor is of one unit; two are alike.
    """

    units: int = Field(default=1, ge=1, le=2)
    arranged: Literal["series", "parallel"] = "series"  # of two
    dose_at_rating_j_m2: Dose = positive("dose_at_rating")
    rated_at: Literal["new", "end of lamp life", "alarm"]  # the state of the unit at which that dose holds
    rated_flow_m3_s: Flow = positive("rated_flow")
    least_tested_share: Fraction = Field(ge=0, le=1)  # least flow of its tests over the rated flow
    rated_transmittance: Fraction = Field(gt=0, le=1)  # per cm
    output_at_end: Fraction = Field(gt=0, lt=1)
    rated_life_s: Time = positive("rated_life")
    target_j_m2: Dose = positive("target")
    gap_m: Length = positive("gap")
    sensor_path_m: Length = positive("sensor_path")
    burn_in_s: Time = positive("burn_in")
    burn_in_loss: Fraction = Field(ge=0, lt=0.5)
    lamp_life_s: Time = positive("lamp_life")
    lamp_life_shape: float = Field(ge=0.1, le=20)
    start_wear_s: Time = not_negative("start_wear")  # lamp life used by one start
    warm_up_s: Time = not_negative("warm_up")
    power_w: Power = not_negative("power")
    optimum_c: Temperature = Field(alias="optimum_from")
    output_at_freezing: Fraction = Field(gt=0, le=1)
    sleeve_film_per_s: Rate = not_negative("sleeve_film")
    window_film_per_s: Rate = not_negative("window_film")
    film_spread: float = Field(ge=0, le=1.5)  # lognormal sigma between houses
    wiped: Fraction = Field(gt=0, le=1)
    residue: Fraction = Field(ge=0, le=1)  # share of what a wipe leaves that stays for good
    alarm: Fraction = Field(gt=0, lt=1)
    shutoff_valve: bool
    linear_pa_s_m3: LinearResistance = not_negative("linear")
    quadratic_pa_s2_m6: QuadraticResistance = not_negative("quadratic")
    solids_absorbance_m2_kg: SpecificAbsorbance = not_negative("solids_absorbance")
    reference_absorbance_per_m: Absorbance = not_negative("sensor_reference")
    tested_as: Literal["class A", "class B", "type-tested"] | None = None  # NSF/ANSI 55, or DVGW and OENORM
    # Before the unit, or none: "constant flow" lets no more through than this; "orifice" drops as the square
    restrictor_m3_s: Flow | None = Field(default=None, alias="restrictor", gt=TRICKLE_M3_S)
    restrictor_kind: Literal["constant flow", "orifice"] = "constant flow"
    restrictor_drop_pa: Pressure = positive("restrictor_drop", default="15 psi", validate_default=True)
    most_pressure_pa: Pressure | None = positive("most_pressure", default=None)  # it is rated for

    @model_validator(mode="after")
    def _dims(self) -> "Uv":
        if self.output_at_end >= 1.0 - self.burn_in_loss:
            raise ValueError("output_at_end is not below what burn_in_loss leaves; wanted a lamp that dims")
        return self

    @property
    def restrictor_pa_s2_m6(self) -> float:
        """Quadratic coefficient of the restrictor: its drop at its flow, and 0 without one [Pa s2/m6]."""
        if self.restrictor_m3_s is None:
            return 0.0
        return float(self.restrictor_drop_pa / self.restrictor_m3_s**2)

    @property
    def most_flow_m3_s(self) -> float:
        """Flow that a constant-flow restrictor holds; infinite where nothing does [m3/s]."""
        if self.restrictor_m3_s is None or self.restrictor_kind == "orifice":
            return math.inf
        return float(self.restrictor_m3_s)

    @property
    def lanes(self) -> int:
        """Among how many units the flow divides."""
        return self.units if self.arranged == "parallel" else 1

    @property
    def in_row(self) -> int:
        """Through how many units all water goes."""
        return self.units // self.lanes

    @property
    def whole_rated_flow_m3_s(self) -> float:
        """Flow of the train at which each unit has its rated flow."""
        return float(self.lanes * self.rated_flow_m3_s)

    @property
    def least_flow_m3_s(self) -> float:
        """Flow of the train at which each unit has the least flow at which it was tested."""
        flow: float = self.least_tested_share * self.whole_rated_flow_m3_s
        return flow

    @property
    def whole_linear_pa_s_m3(self) -> float:
        """Linear coefficient of all units, all open."""
        return float(self.in_row * self.linear_pa_s_m3 / self.lanes)

    @property
    def whole_quadratic_pa_s2_m6(self) -> float:
        """Quadratic coefficient of all units, all open."""
        return float(self.in_row * self.quadratic_pa_s2_m6 / self.lanes**2)

    @property
    def light_at_rating(self) -> float:
        """Light at the state for which the dose is rated, over new and clean."""
        light: dict[str, float] = {"new": 1.0, "end of lamp life": self.output_at_end, "alarm": self.alarm}
        return light[self.rated_at]
