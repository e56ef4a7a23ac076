"""How far the two plants stand apart on one case, quantity by quantity, and the bar of each."""

import math
from dataclasses import dataclass

import numpy as np

from sim.plant import state
from tests.second import cases, plain_flow, plain_house, plain_numbers, project

TIE_S = 1e-6  # events closer than this in the second plant have no order to be kept


@dataclass(frozen=True)
class Bar:
    """A quantity, its unit, and how far apart the plants may stand."""

    name: str
    unit: str
    limit: float


BARS = (
    Bar("events that differ in kind, number or order", "", 0.0),
    Bar("pump start", "s", 0.05),
    Bar("any other event", "s", 0.05),
    Bar("volume of a draw", "share", 1e-3),
    Bar("least tank pressure of a day", "Pa", 50.0),
    Bar("least tap pressure of a day", "Pa", 50.0),
    Bar("least tap pressure of a draw", "Pa", 50.0),
    Bar("least dose of a draw", "share", 1e-3),
    Bar("volume in wrong bins of the dose histogram", "share", 2e-3),
    Bar("volume below the target", "share", 1e-3),
    Bar("time of water off, alarm, little light or low pressure", "s/d", 5.0),
    Bar("pump energy", "share", 1e-3),
)


def plain(case):
    """Run the second plant."""
    d = case.draws
    fields = (d.start_s, d.coefficient, d.duration_s, d.volume_m3, d.patience_s)
    asked = [plain_house.Draw(*(float(x) for x in row)) for row in zip(*fields, strict=True)]
    n = plain_numbers.numbers(case.scenario, case.wear)
    water = plain_flow.tank_water(n, n.cut_out)
    return plain_house.House(n, asked, case.cuts.tolist(), case.changes, water, case.cistern, case.n_days)


def _by_kind(events):
    found = {}
    for time, *kind in sorted(events):
        found.setdefault(tuple(kind), []).append(time)
    return found


def _events(ours, other):
    """Events that differ, and the largest difference of a pump start and of any other event."""
    ours, other = _by_kind(ours), _by_kind(other)
    wrong = sum(abs(len(ours.get(kind, [])) - len(other.get(kind, []))) for kind in {*ours, *other})
    start, rest, pairs = 0.0, 0.0, []
    for kind in {*ours} & {*other}:
        for a, b in zip(ours[kind], other[kind], strict=False):
            pairs.append((b, a))
            start, rest = (
                (max(start, abs(a - b)), rest) if kind[0] == "pump starts" else (start, max(rest, abs(a - b)))
            )
    pairs.sort()
    latest = -math.inf  # of our times whose events came before in the second plant, ties apart
    held = 0
    for index, (b, a) in enumerate(pairs):
        while pairs[held][0] < b - TIE_S:
            latest = max(latest, pairs[held][1])
            held += 1
        assert held <= index
        wrong += a < latest
    return float(wrong), start, rest


def _largest(ours, other, relative=False):
    ours, other = np.asarray(ours, dtype=float), np.asarray(other, dtype=float)
    same = (ours == other) | (np.isnan(ours) & np.isnan(other))  # both infinite, both without flow
    with np.errstate(invalid="ignore", divide="ignore"):
        gap = np.abs(ours - other) / (np.abs(other) if relative else 1.0)
    return float(np.max(np.where(same, 0.0, gap), initial=0.0))


def _times(ours, days):
    columns = {
        state.WATER_OFF: "off",
        state.ALARM: "alarm",
        state.LOW_LIGHT: "low_light",
        state.LOW_PRESSURE: "low",
    }
    return max(
        _largest(ours.days[:, column], [getattr(day, name) for day in days])
        for column, name in columns.items()
    )


def apart(case, untold=frozenset()):
    """Run both plants; return what lies between them in the order of `BARS`, and the second plant.

    Events of a kind the loop does not tell are left out.
    """
    ours, other = project.Compiled(case), plain(case)
    days, draws = other.book.days, [draw for draw in other.draws if math.isfinite(draw.got)]
    got = ours.got[: len(other.draws)][[math.isfinite(draw.got) for draw in other.draws]]
    total, logs = max(other.book.supplied, 1e-9), (ours.events, other.book.log)
    found = (
        *_events(*([one for one in log if one[1] not in untold] for log in logs)),
        _largest(got["got_m3"], [draw.got for draw in draws], relative=True),
        _largest(ours.days[:, state.TANK_MIN], [day.least_tank for day in days]),
        _largest(ours.days[:, state.TAP_MIN], [day.least_tap for day in days]),
        _largest(got["tap_pa"], [draw.least_tap for draw in draws]),
        _largest(got["dose_j_m2"], [draw.least_dose for draw in draws], relative=True),
        float(np.abs(ours.bins - other.book.bins).sum()) / 2.0 / total,
        abs(ours.days[:, state.BELOW_TARGET].sum() - sum(day.below for day in days)) / total,
        _times(ours, days),
        abs(float(ours.s["energy_j"][0]) - other.book.energy) / max(other.book.energy, 1.0),
    )
    return found, other


def case_of(seed, n_days):
    """Return the random case of a seed."""
    return cases.random_case(seed, n_days)
