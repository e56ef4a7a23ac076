"""UV unit: dose given to a flow, what the sensor makes of it, film on the sleeve, and the dose table.

A dose here is the dose of the unit's rating carried over to other conditions. It does not show that water is
fit to drink: local codes, a validated unit and licensed practice decide that.
"""

import math
from bisect import bisect_right

from sim.compiled import compiled
from sim.constants import LN10

# 40 CFR 141.720(d)(1), UV dose table: required dose by log credit (grade: second-hand, full transcription)
LOG_CREDITS = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0)
REQUIRED_DOSE_J_M2 = {
    "cryptosporidium": (16.0, 25.0, 39.0, 58.0, 85.0, 120.0, 150.0, 220.0),
    "giardia": (15.0, 21.0, 30.0, 52.0, 77.0, 110.0, 150.0, 220.0),
    "virus": (390.0, 580.0, 790.0, 1000.0, 1210.0, 1430.0, 1630.0, 1860.0),
}


@compiled
def water_factor(absorbance_per_m: float, gap_m: float) -> float:
    """Return the mean over the entering intensity in a layer of absorbing water.

    Parameters
    ----------
    absorbance_per_m : float
        Decadic absorbance of the water at 254 nm [1/m], >= 0.
    gap_m : float
        Thickness of the layer: the gap between sleeve and chamber [m], > 0.

    Returns
    -------
    float
        Water factor, 1 for clear water down to 0.

    Notes
    -----
    (1 - 10^(-A d))/(A d ln 10). The same factor serves a beam into a dish and, area cancelling, the plug-flow
    mean of a radial annulus: D = P T (1 - e^(-alpha d))/(alpha Q).

    References
    ----------
    Bolton, J. R., Linden, K. G. (2003), J. Environ. Eng. 129(3), 209-215 (formula from memory).

    Examples
    --------
    90 % per cm through 1 cm:

    >>> water_factor(4.576, 0.01)
    0.9491
    """
    depth = LN10 * absorbance_per_m * gap_m
    if depth <= 0.0:
        return 1.0
    return -math.expm1(-depth) / depth


@compiled
def new_dose_j_m2(dose_at_rating_j_m2: float, light_share: float) -> float:
    """Return the dose a new, clean unit gives at its rated flow and water.

    Parameters
    ----------
    dose_at_rating_j_m2 : float
        Dose of the data sheet [J/m2].
    light_share : float
        Light over new and clean in the state for which the sheet states it, above 0 to 1: 1 for a new lamp,
        the lamp's output at the end of its life, or the reading at which the alarm is set.

    Returns
    -------
    float
        Dose with a new lamp and a clean sleeve [J/m2].

    Notes
    -----
    D_new = D_rating/s: dose goes with the light. A class A unit gives 40 mJ/cm2 at its alarm set point, so
    one with an alarm at 60 % gives 66.7 when new.

    References
    ----------
    NSF/ANSI 55 class A as told in wcponline.com (June 2002): target dose at the alarm set point.

    Examples
    --------
    >>> new_dose_j_m2(400.0, 0.8), new_dose_j_m2(400.0, 0.6)
    (500.0, 666.7)
    """
    return dose_at_rating_j_m2 / light_share


@compiled
def dose_j_m2(
    flow_m3_s: float,
    rated_flow_m3_s: float,
    rated_dose_new_j_m2: float,
    absorbance_per_m: float,
    rated_absorbance_per_m: float,
    gap_m: float,
    optical: float,
    least_flow_m3_s: float = 0.0,
) -> float:
    """Return the dose a unit is credited with at a flow.

    Parameters
    ----------
    flow_m3_s : float
        Flow [m3/s], > 0.
    rated_flow_m3_s : float
    rated_dose_new_j_m2 : float
        Dose of a new, clean unit at the rated flow and water [J/m2].
    absorbance_per_m : float
        Decadic absorbance of this water [1/m], >= 0.
    rated_absorbance_per_m : float
        Decadic absorbance of the rating [1/m], >= 0.
    gap_m : float
        Gap between sleeve and chamber [m].
    optical : float
        Product of lamp output, sleeve transmittance, temperature factor and warm-up, each over new and clean.
    least_flow_m3_s : float
        Least flow at which the unit was tested [m3/s], >= 0.

    Notes
    -----
    D = D_new (Q_r/Q) f g(A)/g(A_r), with g the water factor and f = `optical`. Dose going as 1/Q keeps the
    mixing of the rated flow: a real unit may short-circuit more at a slower one, so no more is credited than
    the dose at the least flow of the tests; above the rated flow the rating does not hold.

    References
    ----------
    Plug-flow mean of a radial lamp in an annulus (derived); compare US EPA 815-R-06-007 (2006), chapter 5
    (from memory: any flow below the least of the tests counts as that one).

    Examples
    --------
    Half the rated flow, a lamp at 80 %, water as rated:

    >>> dose_j_m2(2e-4, 4e-4, 500.0, 4.0, 4.0, 0.02, 0.8)
    800.0
    """
    water = water_factor(absorbance_per_m, gap_m) / water_factor(rated_absorbance_per_m, gap_m)
    return rated_dose_new_j_m2 * rated_flow_m3_s / max(flow_m3_s, least_flow_m3_s) * optical * water


@compiled
def sensor_fraction(
    lamp: float,
    sleeve: float,
    window: float,
    temperature: float,
    absorbance_per_m: float,
    reference_absorbance_per_m: float,
    path_m: float,
) -> float:
    """Return the reading of a UV sensor over new and clean in the reference water.

    Parameters
    ----------
    lamp : float
        Lamp output over new, 0 to 1; 0 when unlit.
    sleeve : float
        Transmittance of the film on the sleeve, 0 to 1.
    window : float
        Transmittance of the film on the sensor window, 0 to 1.
    temperature : float
        Temperature factor of the lamp.
    absorbance_per_m : float
        Decadic absorbance of this water [1/m].
    reference_absorbance_per_m : float
        Decadic absorbance of the water in which the sensor was set to 100 % [1/m].
    path_m : float
        Water between sleeve and sensor window [m].

    Returns
    -------
    float
        Reading, 1 when new; above 1 in clearer water.

    Notes
    -----
    Product of the factors and 10^(-(A - A_ref) d): one number with four causes. The window film lowers the
    reading and not the dose; a far-wall sensor falls faster with colour than the dose does.

    References
    ----------
    Beer-Lambert law.

    Examples
    --------
    >>> sensor_fraction(0.80, 0.75, 1.0, 1.0, 4.0, 4.0, 0.0235)
    0.60
    """
    water = math.exp(-LN10 * (absorbance_per_m - reference_absorbance_per_m) * path_m)
    return lamp * sleeve * window * temperature * water


@compiled
def absorbance_per_m(transmittance_per_cm: float) -> float:
    """Return the decadic absorbance that a transmittance stands for.

    Parameters
    ----------
    transmittance_per_cm : float
        Share of light at 254 nm that passes 1 cm of water, above 0 to 1.

    Notes
    -----
    A = -100 log10(T).

    References
    ----------
    Definition of absorbance.

    Examples
    --------
    >>> absorbance_per_m(0.90)
    4.576
    """
    return -100.0 * math.log10(transmittance_per_cm)


@compiled
def transmittance_per_cm(absorbance_per_m: float) -> float:
    """Return the transmittance of 1 cm of water; the inverse of `absorbance_per_m`.

    Parameters
    ----------
    absorbance_per_m : float
        Decadic absorbance at 254 nm [1/m], >= 0.

    Returns
    -------
    float
        Transmittance per cm, 0 to 1.

    Notes
    -----
    T = 10^(-A/100).

    References
    ----------
    Definition of absorbance.

    Examples
    --------
    >>> transmittance_per_cm(4.576)
    0.900
    """
    return math.exp(-LN10 * 0.01 * absorbance_per_m)


@compiled
def film_transmittance(film: float) -> float:
    """Return the share of light that passes a film on quartz.

    Parameters
    ----------
    film : float
        Optical thickness of all film on the surface, >= 0 (Naperian).

    Returns
    -------
    float
        Transmittance, 0 to 1.

    Notes
    -----
    exp(-m): absorbing metals add in the exponent.

    References
    ----------
    Beer's law; Wait & Blatchley (2010), Water Environ. Res. 82, tie foulant metals to absorbance.

    Examples
    --------
    >>> film_transmittance(0.2877)
    0.750
    """
    return math.exp(-film)


@compiled
def film_after_wipe(
    film: float, permanent: float, wiped_fraction: float, residue_share: float
) -> tuple[float, float]:
    """Return the film on a surface after a wipe.

    Parameters
    ----------
    film : float
        Optical thickness that a wipe can take off, >= 0.
    permanent : float
        Optical thickness in scratches, which no wipe takes off, >= 0.
    wiped_fraction : float
        Share of `film` a wipe takes off, 0 to 1.
    residue_share : float
        Share of what the wipe leaves that has set for good, 0 to 1.

    Returns
    -------
    tuple of float
        (film, permanent) afterwards; light sees the sum of the two.

    Notes
    -----
    left = (1 - w) film; permanent grows by r left, and (1 - r) left can still be wiped next time.

    References
    ----------
    Peng et al. (2005), Water Environ. Res. 77, 309: a permanent film stays in scratches. Numbers: assumption.

    Examples
    --------
    >>> film_after_wipe(0.4, 0.1, 0.95, 0.5)
    (0.01, 0.11)
    """
    left = (1.0 - wiped_fraction) * film
    return (1.0 - residue_share) * left, permanent + residue_share * left


@compiled
def least_protecting_dose_j_m2(target_j_m2: float, alarm_fraction: float) -> float:
    """Return the new and clean dose a unit needs so that its alarm comes before the dose falls below target.

    Parameters
    ----------
    target_j_m2 : float
    alarm_fraction : float
        Sensor reading at which the alarm acts, above 0 to 1.

    Returns
    -------
    float
        Dose when new and clean, at the greatest flow and in the reference water [J/m2].

    Notes
    -----
    D >= D_target/S_alarm. The common 60 % is practice; no standard sets it. It holds for lamp and sleeve; the
    dose falls less than a far-wall reading when the water is coloured.

    References
    ----------
    Arithmetic on NSF/ANSI 55 class A as told in wcponline.com (June 2002): target dose at the alarm point.

    Examples
    --------
    >>> least_protecting_dose_j_m2(400.0, 0.60)
    667.
    """
    return target_j_m2 / alarm_fraction


@compiled
def alarm_protects(rated_dose_new_j_m2: float, target_j_m2: float, alarm_fraction: float) -> bool:
    """Return whether the alarm comes no later than the dose falls below target at the rated flow.

    Parameters
    ----------
    rated_dose_new_j_m2 : float
        Dose of a new, clean unit at the rated flow and water [J/m2].
    target_j_m2 : float
        Dose target [J/m2].
    alarm_fraction : float
        Sensor reading at which the alarm acts, above 0 to 1.

    Returns
    -------
    bool
        True when it does, for losses of lamp and sleeve.

    Notes
    -----
    Compares with `least_protecting_dose_j_m2`. It says nothing of power cuts, warm-up or flow above rating.

    References
    ----------
    As for `least_protecting_dose_j_m2`.

    Examples
    --------
    >>> alarm_protects(571.0, 400.0, 0.60)
    False
    """
    return rated_dose_new_j_m2 >= least_protecting_dose_j_m2(target_j_m2, alarm_fraction)


def log_credit(dose_j_m2: float, organism: str) -> float:
    """Return the log inactivation credited to a validated dose: a step table, never interpolated.

    Parameters
    ----------
    dose_j_m2 : float
        Validated dose [J/m2], >= 0.
    organism : str
        A key of REQUIRED_DOSE_J_M2: "cryptosporidium", "giardia" or "virus".

    Returns
    -------
    float
        Credit in log10 units, 0 below the first step and at most 4.

    Notes
    -----
    The credit belongs to validated units in public supplies. The simulated dose is not validated; the credit
    shows scale, and local codes decide.

    References
    ----------
    40 CFR 141.720(d)(1), UV dose table (grade: second-hand, full transcription); adenovirus sets virus.

    Examples
    --------
    >>> log_credit(400.0, "cryptosporidium"), log_credit(400.0, "virus")
    (4.0, 0.5)
    """
    steps = bisect_right(REQUIRED_DOSE_J_M2[organism], dose_j_m2)
    return LOG_CREDITS[steps - 1] if steps else 0.0
