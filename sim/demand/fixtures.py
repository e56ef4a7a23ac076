"""Peak flow of a house from a count of its fixtures: fixture units, loading units, the statistical 99 %.

Each method has its own table of weights; a weight of one never goes with the curve of another. `fixtures` is
a count of each kind, by its name in `KINDS`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.demand.peak import zero_truncated_quantile
from sim.errors import InputError
from sim.units import GPM_M3_S

LPS_M3_S = 1e-3
BUSY_SHARE = 0.99  # of the time in which anything is open


@dataclass(frozen=True)
class Kind:
    """What the methods say of one kind of fixture."""

    wsfu_factor: float  # private water supply fixture units, cold and hot [IPC E103.3(2), some from memory]
    loading_factor: float  # loading units [EN 806-3 table 2]
    draw_m3_s: float  # its draw-off flow QA [EN 806-3 table 2]
    probability: float  # chance that it is open in the peak hour [study of 2017, from memory]
    flow_m3_s: float  # its flow in that study [from memory]


def _kind(wsfu: float, units: float, draw_l_s: float, probability: float, flow_gpm: float) -> Kind:
    return Kind(wsfu, units, draw_l_s * LPS_M3_S, probability, flow_gpm * GPM_M3_S)


KINDS = {
    "toilet": _kind(2.2, 1, 0.1, 0.010, 3.0),
    "basin": _kind(0.7, 1, 0.1, 0.020, 1.5),
    "shower": _kind(1.4, 2, 0.2, 0.045, 2.0),
    "bath with shower": _kind(1.4, 4, 0.4, 0.055, 5.5),
    "bath": _kind(1.4, 4, 0.4, 0.010, 5.5),
    "kitchen sink": _kind(1.4, 2, 0.2, 0.020, 2.2),
    "dishwasher": _kind(1.4, 2, 0.2, 0.005, 1.3),
    "clothes washer": _kind(1.4, 2, 0.2, 0.055, 3.5),
    "laundry tub": _kind(1.4, 2, 0.2, 0.020, 2.0),
}
# Fixture units and gpm, flush tanks: IPC table E103.3(3), second-hand; 77 IAC 890 table N (Illinois), seen.
IPC = (
    (0.0, 0.0), (1.0, 3.0), (2.0, 5.0), (3.0, 6.5), (4.0, 8.0), (5.0, 9.4), (6.0, 10.7), (7.0, 11.8),
    (8.0, 12.8), (9.0, 13.7), (10.0, 14.6), (11.0, 15.4), (12.0, 16.0), (13.0, 16.5), (14.0, 17.0),
    (15.0, 17.5), (16.0, 18.0), (17.0, 18.4), (18.0, 18.8), (19.0, 19.2), (20.0, 19.6), (25.0, 21.5),
    (30.0, 23.3), (35.0, 24.9), (40.0, 26.3), (50.0, 29.1), (100.0, 43.5),
)  # fmt: skip
ILLINOIS = (
    (0.0, 0.0), (2.0, 2.0), (4.0, 3.0), (6.0, 5.0), (8.0, 6.5), (10.0, 8.0), (12.0, 9.2), (14.0, 10.4),
    (16.0, 11.6), (20.0, 14.0), (25.0, 17.0), (30.0, 20.0), (35.0, 22.5), (40.0, 25.0), (50.0, 29.0),
    (100.0, 43.5),
)  # fmt: skip
TABLES = {"IPC": IPC, "Illinois": ILLINOIS}


def fixture_units(fixtures: Mapping[str, int]) -> float:
    """Return the sum of private water supply fixture units.

    Parameters
    ----------
    fixtures : mapping of str to int
        Count of each kind.
    """
    return float(sum(KINDS[name].wsfu_factor * count for name, count in fixtures.items()))


def loading_units(fixtures: Mapping[str, int]) -> float:
    """Return the sum of loading units.

    Parameters
    ----------
    fixtures : mapping of str to int
        Count of each kind.
    """
    return float(sum(KINDS[name].loading_factor * count for name, count in fixtures.items()))


def by_fixture_units_m3_s(fixtures: Mapping[str, int], table: str = "IPC") -> float:
    """Return the peak flow by fixture units, flush tanks.

    Parameters
    ----------
    fixtures : mapping of str to int
        Count of each kind.
    table : str
        A key of `TABLES`.

    Raises
    ------
    InputError
        Beyond the last line of the table.

    Notes
    -----
    Straight between the lines of the table.

    References
    ----------
    International Plumbing Code, appendix E, tables E103.3(2) and (3); 77 Illinois Administrative Code 890,
    appendix A, table N. After Hunter (1940), BMS65.
    """
    units = fixture_units(fixtures)
    found, gpm = zip(*TABLES[table], strict=True)
    if units > found[-1]:
        raise InputError(f"{units:g} fixture units; the table ends at {found[-1]:g}")
    return float(np.interp(units, found, gpm)) * GPM_M3_S


def by_loading_units_m3_s(fixtures: Mapping[str, int]) -> float:
    """Return the peak flow by loading units.

    Parameters
    ----------
    fixtures : mapping of str to int
        Count of each kind.

    Notes
    -----
    Q = max(largest QA, 0.459 (LU/10)^0.353) L/s, a fit used with Swiss guideline W3 in place of figure B.1,
    for a largest single unit of 4 at most (second-hand).

    References
    ----------
    EN 806-3:2006, table 2.

    Examples
    --------
    >>> 1e3 * by_loading_units_m3_s({"bath": 1, "basin": 2, "toilet": 2, "shower": 1})
    0.459
    """
    units = loading_units(fixtures)
    if units <= 0.0:
        return 0.0
    largest = max(KINDS[name].draw_m3_s for name, count in fixtures.items() if count > 0)
    return float(max(largest, 0.459 * LPS_M3_S * (units / 10.0) ** 0.353))


def statistical_m3_s(fixtures: Mapping[str, int]) -> float:
    """Return the flow not exceeded in 99 % of the busy time of the peak hour.

    Parameters
    ----------
    fixtures : mapping of str to int
        Count of each kind.

    Notes
    -----
    The quantile of the law without its zero can fall when a fixture is added, so the largest over the house
    and each kind of its fixtures alone counts.

    References
    ----------
    Buchberger, Omaghomi, Wolfe, Hewitt & Cole (2017), Peak water demand study (weights from memory).
    """
    whole = {name: count for name, count in fixtures.items() if count > 0}
    parts = [whole, *({name: count} for name, count in whole.items())]
    return max((_truncated(part) for part in parts if part), default=0.0)


def _truncated(fixtures: Mapping[str, int]) -> float:
    kinds = [KINDS[name] for name in fixtures]
    return zero_truncated_quantile(
        np.array([kind.flow_m3_s for kind in kinds]),
        np.array(list(fixtures.values()), dtype=np.int64),
        np.array([kind.probability for kind in kinds]),
        BUSY_SHARE,
    )
