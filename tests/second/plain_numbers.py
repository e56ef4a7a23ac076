"""The house as plain numbers, worked out anew from a scenario: no equation of the project is used here."""

import math
from dataclasses import dataclass

from iapws._iapws import _Liquid
from iapws.iapws97 import _PSat_T
from scipy.integrate import quad
from scipy.optimize import brentq

GRAVITY = 9.80665
TRICKLE = 1e-3 / 60.0  # a tap that gives less than 1 L/min counts as off


@dataclass(frozen=True)
class Wear:
    """What time has done to the plant by the start of the comparison."""

    water_c: float
    loads: tuple[float, ...]  # caught mass over dirt capacity, by stage
    lit_s: float
    sleeve_film: float
    window_film: float
    absorbance: float  # of the water that reaches the unit [1/m]
    head: float  # shut-off head over that of the new pump


@dataclass(frozen=True)
class Numbers:
    """Everything the second plant knows."""

    tank: float
    precharge: float
    air: float  # pressure outside
    exponent: float
    cut_in: float
    cut_out: float
    shutoff_head: float
    curve: float  # of pump and suction side
    pump_curve: float
    air_head: float  # pressure outside over that at which the water boils, as head
    suction_curve: float
    needed: float  # net positive suction head at which 3 % of the head is gone
    height: float
    floor: float
    intake: float
    restart: float
    mains: float  # flow that a float valve lets in; 0 without mains
    mains_below: float  # it opens
    mains_until: float  # it shuts
    best_flow: float
    best_efficiency: float
    holds: bool  # its speed holds cut-out
    least_flow_held: float
    stop_delay: float
    drive: float  # efficiency of what sets the speed
    density: float
    linear: float
    quadratic: float
    most: float  # flow that a restrictor holds
    static: float
    trickle: float
    leak: float
    dose_flow: float
    least_flow: float
    target: float
    low_tap: float
    warm_up: float
    valve: bool
    alarm: bool
    served_share: float


def _density(t):
    """Kell 1975, equation 16, as printed: a quotient of polynomials in degrees Celsius."""
    top = 999.83952 + 16.945176 * t - 7.9870401e-3 * t**2 - 46.170461e-6 * t**3
    return (top + 105.56302e-9 * t**4 - 280.54253e-12 * t**5) / (1.0 + 16.879850e-3 * t)


def _viscosity(celsius):
    """Of water at one atmosphere, by the reference library."""
    return float(_Liquid(celsius + 273.15)["mu"])


def _boiling(celsius):
    """Pressure at which water boils, by the reference library."""
    return 1e6 * float(_PSat_T(celsius + 273.15))


def _colebrook(reynolds, rough):
    def miss(x):
        return x + 2.0 * math.log10(rough / 3.7 + 2.51 * x / reynolds)

    return brentq(miss, 1.0, 50.0, xtol=1e-14) ** -2


def _friction(reynolds, rough):
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    if reynolds >= 4000.0:
        return _colebrook(reynolds, rough)
    share = (reynolds - 2000.0) / 2000.0
    return (1.0 - share) * 64.0 / 2000.0 + share * _colebrook(4000.0, rough)


def _pipe(house):
    density, viscosity = _density(15.0), _viscosity(15.0)
    area = math.pi * house.pipe_bore_m**2 / 4.0
    speed = house.friction_flow_m3_s / area
    reynolds = density * speed * house.pipe_bore_m / viscosity
    friction = _friction(reynolds, house.pipe_roughness_m / house.pipe_bore_m)
    losses = friction * house.pipe_length_m / house.pipe_bore_m + house.fittings_k + 2.0 * house.valve_k
    return losses * 0.5 * density * speed**2 / house.friction_flow_m3_s**2


def _grown(exponent, plateau, terminal, load):
    """Resistance over clean at a load: dR/dx = k R^n past the plateau, the terminal one at a load of 1.

    By quadrature and a root instead of a formula: the share of the way from 1 to the terminal ratio that is
    gone at R is the integral of r^-n from 1 to R over that to the terminal.
    """
    share = (load - plateau) / (1.0 - plateau)
    if share <= 0.0:
        return 1.0

    def way(ratio):  # in the logarithm of r, where r^-n dr = e^((1 - n) s) ds
        return quad(lambda s: math.exp((1.0 - exponent) * s), 0.0, math.log(ratio), epsrel=1e-13)[0]

    return brentq(
        lambda ratio: way(ratio) - share * way(terminal), 1.0, terminal * 1e3, xtol=1e-13, rtol=1e-14
    )


def _train(scenario, wear):
    thicker = _viscosity(wear.water_c) / _viscosity(20.0)
    linear, quadratic = scenario.uv.linear_pa_s_m3, scenario.uv.quadratic_pa_s2_m6 + _pipe(scenario.house)
    for stage, load in zip(scenario.stages, wear.loads, strict=True):
        clean = stage.linear_pa_s_m3 / stage.housings
        terminal = 1.0 + stage.terminal_rise_pa / (clean * stage.rated_flow_m3_s)
        linear += clean * thicker * _grown(stage.exponent, stage.plateau, terminal, load)
        quadratic += stage.quadratic_pa_s2_m6 / stage.housings**2
    if scenario.uv.restrictor_m3_s is not None:
        quadratic += scenario.uv.restrictor_drop_pa / scenario.uv.restrictor_m3_s**2
    return linear, quadratic


def _most(unit):
    """Flow beyond which a constant-flow restrictor closes further; an orifice has none."""
    holds = unit.restrictor_m3_s is not None and unit.restrictor_kind == "constant flow"
    return unit.restrictor_m3_s if holds else math.inf


def _layer(absorbance, gap):
    """Mean over the entering intensity in a layer of absorbing water."""
    depth = absorbance * gap * math.log(10.0)
    return (1.0 - 10.0 ** (-absorbance * gap)) / depth if depth > 0.0 else 1.0


def _lamp(unit, wear):
    fade = (unit.output_at_end / (1.0 - unit.burn_in_loss)) ** (wear.lit_s / unit.rated_life_s)
    burnt = 1.0 - unit.burn_in_loss * (1.0 - math.exp(-wear.lit_s / unit.burn_in_s))
    cold = unit.output_at_freezing + (1.0 - unit.output_at_freezing) * wear.water_c / unit.optimum_c
    return fade * burnt * min(cold, 1.0)


def _uv(unit, wear):
    """Dose times flow of the lit unit, and the reading of its sensor."""
    light = _lamp(unit, wear) * math.exp(-wear.sleeve_film)
    rated = -100.0 * math.log10(unit.rated_transmittance)
    water = _layer(wear.absorbance, unit.gap_m) / _layer(rated, unit.gap_m)
    left = {"new": 1.0, "end of lamp life": unit.output_at_end, "alarm": unit.alarm}[unit.rated_at]
    dose_flow = unit.dose_at_rating_j_m2 / left * unit.rated_flow_m3_s * light * water
    darker = 10.0 ** (-(wear.absorbance - unit.reference_absorbance_per_m) * unit.sensor_path_m)
    return dose_flow, light * math.exp(-wear.window_film) * darker


def numbers(scenario, wear):
    """Work a scenario and its wear out into plain numbers."""
    sc, house, store = scenario, scenario.house, scenario.cistern
    density = _density(wear.water_c)
    linear, quadratic = _train(scenario, wear)
    static = density * GRAVITY * house.lift_m
    dose_flow, reading = _uv(sc.uv, wear)
    intake = store.intake_m * store.floor_m2
    air = 101325.0 * (1.0 - 0.0065 * house.altitude_m / 288.15) ** 5.25588
    return Numbers(
        tank=sc.tank.volume_m3,
        precharge=sc.tank.precharge_pa,
        air=air,
        exponent=sc.tank.gas_exponent,
        cut_in=sc.switch.cut_in_pa,
        cut_out=sc.switch.cut_out_pa,
        shutoff_head=sc.pump.shutoff_head_m * wear.head,
        curve=sc.pump.curve_s2_m5 + sc.pump.suction_s2_m5,
        pump_curve=sc.pump.curve_s2_m5,
        air_head=(air - _boiling(wear.water_c)) / (density * GRAVITY),
        suction_curve=sc.pump.suction_s2_m5,
        needed=sc.pump.npsh_required_m,
        height=sc.pump.height_m,
        floor=store.floor_m2,
        intake=intake,
        restart=min(intake + sc.pump.restart_m * store.floor_m2, store.capacity_m3),
        mains=store.mains_m3_s or 0.0,
        mains_below=store.mains_below * store.capacity_m3,
        mains_until=store.mains_until * store.capacity_m3,
        best_flow=sc.pump.best_flow_m3_s,
        best_efficiency=sc.pump.best_efficiency,
        holds=sc.pump.speed == "constant pressure",
        least_flow_held=sc.pump.least_flow_m3_s,
        stop_delay=sc.pump.stop_delay_s,
        drive=sc.pump.drive_efficiency if sc.pump.speed == "constant pressure" else 1.0,
        density=density,
        linear=linear,
        quadratic=quadratic,
        most=_most(sc.uv),
        static=static,
        trickle=static + linear * TRICKLE + quadratic * TRICKLE**2,
        leak=house.leak_m3_s / house.leak_reference_pa**0.5,
        dose_flow=dose_flow,
        least_flow=sc.uv.least_tested_share * sc.uv.rated_flow_m3_s,
        target=sc.uv.target_j_m2,
        low_tap=house.low_tap_pa,
        warm_up=sc.uv.warm_up_s,
        valve=sc.uv.shutoff_valve,
        alarm=reading < sc.uv.alarm,
        served_share=house.served_share,
    )
