"""Captive-air pressure tank: a fixed mass of air on one side of a bladder, water on the other.

All pressures are gauge; the gas law itself works with absolute pressure, so the atmosphere is an argument.
"""

import math

from sim.compiled import compiled, inlined
from sim.constants import ATMOSPHERE_PA


@inlined
def pressure_pa(
    water_m3: float, tank_m3: float, precharge_pa: float, atmosphere_pa: float, exponent: float
) -> float:
    """Return the gauge pressure of a tank that holds some water.

    Parameters
    ----------
    water_m3 : float
        Water in the tank [m3], 0 <= water < tank.
    tank_m3 : float
        Volume of the tank, all of it air when empty [m3], > 0.
    precharge_pa : float
        Gauge pressure of the air when the tank holds no water [Pa], > -atmosphere.
    atmosphere_pa : float
        Absolute pressure of the air outside [Pa], > 0.
    exponent : float
        Polytropic exponent: 1 slow (isothermal) to 1.4 fast (adiabatic).

    Returns
    -------
    float
        Gauge pressure [Pa]; the precharge when the tank holds no water.

    Notes
    -----
    (p + p_atm) V_air^n = (p_pre + p_atm) V_tank^n. Air taken as ideal; the bladder carries no load.

    References
    ----------
    Boyle's law for n = 1; drawdown practice in thedriller.com article 84709 (2006).

    Examples
    --------
    A tank half full of water doubles its absolute pressure.

    >>> pressure_pa(0.1, 0.2, 200e3, 100e3, 1.0)
    500000.
    """
    squeeze = tank_m3 / (tank_m3 - water_m3)
    if exponent != 1.0:  # a power costs more than the rest, and n = 1 is the usual case
        squeeze = math.pow(squeeze, exponent)
    return (precharge_pa + atmosphere_pa) * squeeze - atmosphere_pa


@compiled
def water_m3(
    pressure_pa: float, tank_m3: float, precharge_pa: float, atmosphere_pa: float, exponent: float
) -> float:
    """Return the water held at a gauge pressure; the inverse of `pressure_pa`.

    Parameters
    ----------
    pressure_pa : float
        Gauge pressure [Pa], > -atmosphere.
    tank_m3 : float
        Volume of the tank [m3], > 0.
    precharge_pa : float
        Gauge pressure of the air when the tank holds no water [Pa], > -atmosphere.
    atmosphere_pa : float
        Absolute pressure of the air outside [Pa], > 0.
    exponent : float
        Polytropic exponent, 1 to 1.4.

    Returns
    -------
    float
        Water in the tank [m3]; 0 at and below the precharge, where the bladder rests on the wall.

    Notes
    -----
    V_w = V [1 - ((p_pre + p_atm)/(p + p_atm))^(1/n)].

    References
    ----------
    As for `pressure_pa`.

    Examples
    --------
    >>> water_m3(500e3, 0.2, 200e3, 100e3, 1.0)
    0.100
    >>> water_m3(150e3, 0.2, 200e3, 100e3, 1.0)
    0.0
    """
    if pressure_pa <= precharge_pa:
        return 0.0
    air = (precharge_pa + atmosphere_pa) / (pressure_pa + atmosphere_pa)
    if exponent != 1.0:
        air = math.pow(air, 1.0 / exponent)
    return tank_m3 * (1.0 - air)


@compiled
def drawdown_m3(
    tank_m3: float,
    precharge_pa: float,
    cut_in_pa: float,
    cut_out_pa: float,
    atmosphere_pa: float,
    exponent: float,
) -> float:
    """Return the water a tank gives between cut-out and cut-in.

    Parameters
    ----------
    tank_m3 : float
        Volume of the tank [m3], > 0.
    precharge_pa : float
        Gauge pressure of the air when the tank holds no water [Pa].
    cut_in_pa : float
        Gauge pressure at which the pump starts [Pa].
    cut_out_pa : float
        Gauge pressure at which the pump stops [Pa], >= cut-in.
    atmosphere_pa : float
        Absolute pressure of the air outside [Pa].
    exponent : float
        Polytropic exponent, 1 to 1.4.

    Returns
    -------
    float
        Drawdown [m3]; with a precharge above cut-in only the part above the precharge counts.

    Notes
    -----
    V_d = V (p_pre + p_atm) [1/(p_in + p_atm) - 1/(p_out + p_atm)] for n = 1 and precharge <= cut-in.

    References
    ----------
    Worked example in thedriller.com article 84709 (2006): 85 gal, 30/50 psi, precharge 28 psi gives 25.1 gal.

    Examples
    --------
    In psi and gallons, which cancel:

    >>> drawdown_m3(85.0, 28.0, 30.0, 50.0, 14.7, 1.0)
    25.1
    """
    full = water_m3(cut_out_pa, tank_m3, precharge_pa, atmosphere_pa, exponent)
    return full - water_m3(cut_in_pa, tank_m3, precharge_pa, atmosphere_pa, exponent)


@compiled
def atmosphere_at_pa(altitude_m: float) -> float:
    """Return the standard atmospheric pressure at an altitude.

    Parameters
    ----------
    altitude_m : float
        Geopotential altitude [m], -2000 to 11000.

    Returns
    -------
    float
        Absolute pressure [Pa].

    Notes
    -----
    p = p0 (1 - L h/T0)^(g M/(R L)) with L = 6.5 K/km and T0 = 288.15 K; weather moves it by about +-3 %.

    References
    ----------
    ISO 2533:1975 (ICAO Doc 7488), layer below 11 km.

    Examples
    --------
    >>> atmosphere_at_pa(0.0)
    101325.
    >>> atmosphere_at_pa(1000.0)
    89875.
    """
    return ATMOSPHERE_PA * math.pow(1.0 - 0.0065 * altitude_m / 288.15, 5.25588)
