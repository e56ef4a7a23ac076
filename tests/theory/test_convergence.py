"""What a smaller step changes: no figure of a run by a tenth of its accuracy; volumes by the rule's order.

`tests/accuracy.csv` says how accurate each figure is meant to be; it was written before anything was
measured. Decisions are whole (a day counts, a pump starts, a cartridge is changed), so a small error can flip
one. A flip is not averaged away: figures of one run are compared with those of the same run; each must hold.
"""

import math

import numpy as np
import pytest

from sim.outcome.measures import row
from sim.plant import state
from sim.scenario.read.load import DEMO, load
from sim.twin.run import common_inputs, run
from sim.twin.water import unpack
from tests.accuracy import accuracy

INF = math.inf
PSI = 6894.757293168361
FEW, MANY = 2, 20  # replications of a year, every policy
SHARE = unpack.STEP_SHARE  # read once: `figures` sets it


def figures(scenario, replication, share, monkeypatch):
    monkeypatch.setattr(unpack, "STEP_SHARE", share)
    common = common_inputs(scenario, replication, 1, 1)
    return [row(run(scenario, policy, common)) for policy in scenario.policies]


def test_every_figure_has_an_accuracy(tiny, policy, short):
    scenario = tiny()
    common = common_inputs(scenario, 0, 1, 1)
    assert list(row(run(scenario, policy(), common))) == list(accuracy())


def moved(replications, monkeypatch):
    """Figures that halving the sub-step moves by more than a tenth of their accuracy, and the most moved."""
    scenario, wanted, found, compared, most = load(DEMO), accuracy(), [], 0, (0.0, "none")
    for replication in replications:
        whole = figures(scenario, replication, SHARE, monkeypatch)
        half = figures(scenario, replication, SHARE / 2, monkeypatch)
        for ours, finer in zip(whole, half, strict=True):
            assert ours["supplied_m3"] > 0.0
            for name, (absolute, relative) in wanted.items():
                value, other = ours[name], finer[name]
                if isinstance(value, str):
                    assert value == other
                elif not (math.isnan(value) and math.isnan(other)):
                    compared += 1
                    limit, gap = 0.1 * max(absolute, relative * abs(value)), abs(value - other)
                    if not gap <= limit:
                        found.append((ours["policy"], replication, name, value, other))
                    if gap > 0.0 and limit > 0.0:
                        most = max(most, (0.1 * gap / limit, name))
    return found, compared, most


def test_half_the_sub_step_moves_no_figure(monkeypatch):
    found, compared, _ = moved(range(FEW), monkeypatch)
    assert found == []
    assert compared > 0


@pytest.mark.long
def test_half_the_sub_step_moves_no_figure_of_many_years(monkeypatch, record_property):
    found, compared, (share, name) = moved(range(FEW, FEW + MANY), monkeypatch)
    record_property("figures of a run and year compared", str(compared))
    record_property("of them moved by more than a tenth of their accuracy", str(len(found)))
    record_property("most moved, of its accuracy", f"{100 * share:.2g} % ({name})")
    assert found == []


def _emptied(plant, tap, share):
    bare = plant(pump_works=0, step_share=share, precharge_pa=5 * PSI)
    bare.s["water_m3"] = bare.water_m3(60 * PSI)
    bare.draw([[0.0, tap(3.0), 1000.0, INF]]).run(1000.0)
    return float(bare.s["water_m3"][0])


def _filled(plant, tap, share):
    bare = plant(step_share=share, floor_m2=4.0)
    bare.s["water_m3"] = bare.water_m3(40 * PSI)
    bare.draw([[0.0, tap(2.0), 1e4, INF]]).run(4000.0)
    return float(bare.runs[0, 1])


def _counted(plant, tap, share):
    bare = plant(pump_works=0, step_share=share, precharge_pa=5 * PSI, target_j_m2=2900.0, static_pa=1e4)
    bare.s["water_m3"] = bare.water_m3(60 * PSI)
    return bare.draw([[0.0, tap(3.0), 1000.0, INF]]).run(1000.0).day(state.BELOW_TARGET)


@pytest.mark.parametrize(
    ("what", "order", "said"),
    [
        (_emptied, 4.0, "water left after a draw"),  # the Runge-Kutta rule
        (_filled, 4.0, "end of a pump run"),  # landed on
    ],
)
def test_the_observed_order_is_that_of_the_rule(plant, tap, what, order, said, record_property):
    # Steps end at events, so h is only nearly halved and the order is not exact: half of one is allowed.
    coarse, middle, fine = (what(plant, tap, share) for share in (0.16, 0.08, 0.04))
    observed = math.log2(abs(coarse - middle) / abs(middle - fine))
    record_property(f"observed order, {said}", f"{observed:.2f} (rule: {order:g})")
    assert observed > order - 0.5


def test_volumes_beyond_a_limit_err_with_the_square_of_the_step(plant, tap):
    # Where in the step the limit falls is chance: the error is not smooth, but bounded by the step's square.
    exact = _counted(plant, tap, 0.001)
    errors = {share: abs(_counted(plant, tap, share) - exact) for share in (0.16, 0.08, 0.04, 0.02)}
    assert all(error < 0.25 * share**2 * 0.3255 for share, error in errors.items())
    assert errors[0.02] < errors[0.16] / 8.0
    assert np.isfinite(exact) and exact > 0.0
