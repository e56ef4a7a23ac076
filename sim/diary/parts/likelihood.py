"""How likely a reading is when the true value is known: scatter, gross misreads, a unit mistaken."""

import math

from sim.compiled import compiled
from sim.constants import DAY_S
from sim.units import PSI_PA

KPA_PER_PSI = PSI_PA / 1e3
WIDEST_DROP_PA = 40.0 * PSI_PA  # a gross misread lies anywhere below it
MISREAD, MISTAKEN_UNIT = (
    0.03,
    0.02,
)  # share of readings [A]; order of size: Schoups et al. 2023, HESS 27:3565
_T4 = 0.375  # density of Student's t with 4 degrees of freedom at 0


@compiled
def t4(value: float, centre: float, scale: float) -> float:
    """Return the density of Student's t with 4 degrees of freedom.

    Parameters
    ----------
    value, centre, scale : float
        In one unit; scale above 0.

    Returns
    -------
    float
        Density, over that unit.

    Examples
    --------
    >>> t4(0.0, 0.0, 1.0)
    0.375
    """
    z = (value - centre) / scale
    left = 1.0 + 0.25 * z * z
    return _T4 / (scale * left * left * math.sqrt(left))


@compiled
def log_drop(read_pa: float, drop_pa: float, scale_pa: float, temper: float) -> float:
    """Return the log density of a drop as read, over psi.

    Parameters
    ----------
    read_pa, drop_pa : float
        Reading and true drop [Pa].
    scale_pa : float
        Scatter of an honest reading [Pa].
    temper : float
        Power of the density of an honest reading over that of a misread, above 0 to 1. That it is a
        misread is not tempered: else many misreads would cost less than one change nobody noted.

    Notes
    -----
    0.95 t4 + 0.03 uniform to 40 psi either way + 0.02 a unit mistaken: psi for kPa or the other way round.
    """
    honest = t4(read_pa, drop_pa, scale_pa)
    over = 0.5 * t4(read_pa / KPA_PER_PSI, drop_pa, scale_pa) / KPA_PER_PSI
    under = 0.5 * t4(read_pa * KPA_PER_PSI, drop_pa, scale_pa) * KPA_PER_PSI
    share = (1.0 - MISREAD - MISTAKEN_UNIT) * (honest * WIDEST_DROP_PA) ** temper
    share += MISTAKEN_UNIT * ((over + under) * WIDEST_DROP_PA) ** temper
    if abs(read_pa) <= WIDEST_DROP_PA:
        share += MISREAD
    return math.log((share + 1e-12) / WIDEST_DROP_PA * PSI_PA)


@compiled
def log_light(read: float, light: float, scale: float) -> float:
    """Return the log density of a UV reading, over one per cent of new and clean.

    Parameters
    ----------
    read, light : float
        Reading and true value, of new and clean.
    scale : float
        Scatter of an honest reading.

    Notes
    -----
    0.97 t4 + 0.03 uniform from 0 to 1.2.
    """
    density = (1.0 - MISREAD) * t4(read, light, scale) + MISREAD / 1.2
    return math.log(0.01 * density)


@compiled
def log_alarm(on: float, light: float, alarm: float, scale: float) -> float:
    """Return the log probability that the alarm is seen on, or seen off.

    Parameters
    ----------
    on : float
        1 when it was on, 0 when it was off.
    light, alarm : float
        True reading and set point, of new and clean.
    scale : float
        Scatter of the sensor.
    """
    share = 0.5 * math.erfc((light - alarm) / (scale * math.sqrt(2.0)))
    share = 0.01 + 0.98 * share
    return math.log(share if on > 0.5 else 1.0 - share)


@compiled
def log_lit(read_s: float, lit_s: float) -> float:
    """Return the log density of lamp hours as read off the controller, over a day.

    Parameters
    ----------
    read_s, lit_s : float
        Reading and true time [s].

    Notes
    -----
    0.97 t4 with a scatter of two days and 2 % of the time (a clock that stands while power is off) + 0.03
    uniform from 0 to 5 years.
    """
    scale_s = 2.0 * DAY_S + 0.02 * lit_s
    density = (1.0 - MISREAD) * t4(read_s, lit_s, scale_s) + MISREAD / (5.0 * 365.0 * DAY_S)
    return math.log(density * DAY_S)
