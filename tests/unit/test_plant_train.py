import math

import numpy as np
import pytest
from scipy.optimize import brentq

from sim.plant import train


@pytest.mark.parametrize("drive", [1e3, 3e5, 6e5])
@pytest.mark.parametrize("a", [0.0, 1e7, 1e9, 1e13])
@pytest.mark.parametrize("b", [0.0, 1e11, 1e13])
def test_flow_uses_up_the_drive(drive, a, b):
    if a == b == 0.0:
        assert math.isinf(train.flow_m3_s(drive, a, b))  # nothing resists: a scenario cannot ask for this
        return
    q = train.flow_m3_s(drive, a, b)
    assert train.drop_pa(q, a, b) == pytest.approx(drive, rel=1e-12)


def test_flow_equals_a_numerical_root():
    q = train.flow_m3_s(3e5, 4e8, 9e11)
    root = brentq(lambda x: 9e11 * x * x + 4e8 * x - 3e5, 0.0, 1e-2, xtol=1e-18, rtol=1e-14)
    assert q == pytest.approx(root, rel=1e-12)


@pytest.mark.parametrize("drive", [0.0, -0.5, -1.0, -1e5])
def test_no_flow_without_drive(drive):
    assert train.flow_m3_s(drive, 1e8, 1e12) == train.flow_m3_s(drive, 0.0, 1e12) == 0.0


def test_half_a_pascal_drives_a_flow():
    assert train.flow_m3_s(0.5, 0.0, 2e10) == pytest.approx(5e-6, rel=1e-12)  # 2e10 Q^2 = 0.5


def test_a_nearly_shut_cartridge_loses_no_digits():
    # the textbook root (-A + sqrt(A^2 + 4 B p))/(2 B) would give 0 here
    assert train.flow_m3_s(1.0, 1e16, 1.0) == pytest.approx(1e-16, rel=1e-12)


def test_flow_falls_with_either_resistance():
    assert (np.diff([train.flow_m3_s(3e5, a, 1e12) for a in np.linspace(0, 1e10, 30)]) < 0).all()
    assert (np.diff([train.flow_m3_s(3e5, 1e8, b) for b in np.linspace(1e9, 1e13, 30)]) < 0).all()


@pytest.mark.parametrize("housings", [1.0, 2.0, 3.0])
def test_parallel_housings_share_the_flow(housings):
    stage = train.drop_pa(6e-4, train.linear_of(4e8, housings), train.quadratic_of(9e11, housings))
    assert stage == pytest.approx(train.drop_pa(6e-4 / housings, 4e8, 9e11), rel=1e-12)


def test_the_slightest_drive_moves_water_and_none_moves_it_back():
    # q = sqrt(drive / b) without linear resistance
    assert train.flow_m3_s(0.25, 0.0, 4e10) == pytest.approx(2.5e-6, rel=1e-12)
    assert train.flow_m3_s(-0.25, 1e6, 4e10) == 0.0
    assert train.flow_m3_s(0.0, 1e6, 4e10) == 0.0
