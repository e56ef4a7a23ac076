"""Properties of the water itself at one atmosphere, 0 to 40 deg C."""

import math

from sim.compiled import compiled

_KELVIN_AT_0_C = 273.15  # exact by definition of the Celsius scale


@compiled
def density_kg_m3(temperature_c: float) -> float:
    """Return the density of air-free water.

    Parameters
    ----------
    temperature_c : float
        Water temperature [deg C], 0 to 40 (published to 150).

    Notes
    -----
    Rational polynomial at 101.325 kPa; within 5 parts per million of IAPWS-95 over 0 to 40 deg C.
    Dissolved air and a few hundred kPa change it by less than 0.02 %, which is neglected.

    References
    ----------
    Kell, G. S. (1975), J. Chem. Eng. Data 20(1), 97-105, equation 16.

    Examples
    --------
    >>> density_kg_m3(20.0)
    998.20
    """
    t = temperature_c
    above = 105.56302e-9 - 280.54253e-12 * t
    above = 999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * above)))
    return above / (1.0 + 16.879850e-3 * t)


@compiled
def viscosity_pa_s(temperature_c: float) -> float:
    """Return the dynamic viscosity of water.

    Parameters
    ----------
    temperature_c : float
        Water temperature [deg C], 0 to 40 (published for -20 to 110).

    Notes
    -----
    Sum of four powers of T/300 K at 0.1 MPa; the authors state 1 %; within 0.01 % of IAPWS-2008.

    References
    ----------
    Patek, J., Hruby, J., Klomfar, J., Souckova, M., Harvey, A. H. (2009), J. Phys. Chem. Ref. Data 38(1),
    21-29 (the same as IAPWS Supplementary Release SR6-08).

    Examples
    --------
    >>> 1e3 * viscosity_pa_s(20.0)
    1.002
    """
    t = (temperature_c + _KELVIN_AT_0_C) / 300.0
    low = 61.131 * math.pow(t, -19.6) + 0.45903 * math.pow(t, -40.0)
    return 1e-6 * (280.68 * math.pow(t, -1.9) + 511.45 * math.pow(t, -7.7) + low)


@compiled
def vapour_pressure_pa(temperature_c: float) -> float:
    """Return the absolute saturation pressure of water.

    Parameters
    ----------
    temperature_c : float
        Water temperature [deg C], 0 to 40 (published from the triple to the critical point).

    Returns
    -------
    float
        Vapour pressure, absolute [Pa].

    Notes
    -----
    Within 0.02 % of IAPWS-95 over 0 to 40 deg C.

    References
    ----------
    Wagner, W., Pruss, A. (1993), J. Phys. Chem. Ref. Data 22(3), 783-787, equation 1 (IAPWS SR1-86(1992)).

    Examples
    --------
    >>> vapour_pressure_pa(20.0)
    2339.
    """
    kelvin = temperature_c + _KELVIN_AT_0_C
    tau = 1.0 - kelvin / 647.096
    root = math.sqrt(tau)
    powers = -7.85951783 * tau + 1.84408259 * tau * root - 11.7866497 * tau**3
    powers += 22.6807411 * tau**3 * root - 15.9618719 * tau**4 + 1.80122502 * tau**7 * root
    return 22.064e6 * math.exp(647.096 / kelvin * powers)
