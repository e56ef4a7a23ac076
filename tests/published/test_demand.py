"""Demand against published numbers.

Grade beside each case: S seen in the source, 2 seen second-hand, M from memory, C computed independently.
Tolerance: half the last printed digit unless a reason is given. Where inputs are from memory the case checks
the method and not the world.
"""

import numpy as np
import pytest

from sim.demand import peak
from sim.demand.end_use import EndUse
from sim.demand.profile import profile
from sim.units import GALLON_M3, GPM_M3_S, PSI_PA
from tests.theory import pulses

PEOPLE = (
    2.65  # Residential End Uses of Water, version 2 (Water Research Foundation 4309, 2016), homes logged (S)
)
FLAT = profile("flat")


def use(name, bound, events, size, flow_gpm, fills=1.0):
    """Return an end use with sizes in gallons or seconds and no spread."""
    volume, duration = (size * GALLON_M3, 0.0) if bound == "volume" else (0.0, size)
    flow = flow_gpm * GPM_M3_S
    return EndUse(
        name, bound, events, volume, duration, flow, 60 * PSI_PA, 0.0, 0.0, fills, 900.0, 1800.0, FLAT, FLAT
    )


# Per person and day: events 2/M, volumes 2/M, flows M. The ledger computed from them is independent (C); what
# it says of each use by itself stands in `cases/demand.csv`.
USES = [
    use("toilet", "volume", 5.0, 2.6, 3.0),
    use("shower", "time", 0.69, 7.80 * 60, 2.026),
    use("tap", "time", 20.0, 30.0, 1.0),
    use("washer", "volume", 0.30, 31.0, 3.5, 4.4),
    use("dishwasher", "volume", 0.10, 6.1, 1.3, 4.7),
    use("bath", "volume", 0.067, 20.2, 5.5),
]


def test_ledger_of_the_household():
    """73.0 draws/d, 119.7 gal/d, busy 0.0425, idle 0.9584, flow 0.0831 gpm with sd 0.454 gpm (C)."""
    items = USES
    busy = [float(peak.busy_by_hour(item, PEOPLE).mean()) for item in items]
    flow = sum(pulses.flow_mean_m3_s(b, item.flow_m3_s) for b, item in zip(busy, items, strict=True))
    variance = sum(
        pulses.flow_variance_m6_s2(b, item.flow_m3_s, 0.0) for b, item in zip(busy, items, strict=True)
    )
    draws = sum(item.events_per_person_day * PEOPLE * item.fills_per_event for item in items)
    assert draws == pytest.approx(73.0, abs=0.05)
    assert flow * 86400.0 / GALLON_M3 == pytest.approx(119.7, abs=0.05)
    assert sum(busy) == pytest.approx(0.0425, abs=0.00005)
    assert pulses.idle_probability(sum(busy)) == pytest.approx(0.9584, abs=0.00005)
    assert flow / GPM_M3_S == pytest.approx(0.0831, abs=0.00005)
    assert np.sqrt(variance) / GPM_M3_S == pytest.approx(0.454, abs=0.0005)
    assert variance / flow / GPM_M3_S == pytest.approx(2.48, abs=0.005)
