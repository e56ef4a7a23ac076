import numpy as np
import pytest

from sim.plant import carbon


@pytest.mark.parametrize("steepness", [0.5, 2.0, 10.0, 150.0, 5000.0])
def test_new_bed_removes_the_initial_share_and_a_spent_one_the_floor(steepness):
    assert carbon.removal_fraction(0.0, 0.30, 0.05, 3000.0, steepness) == pytest.approx(0.30, rel=1e-12)
    assert carbon.removal_fraction(1e9, 0.30, 0.05, 3000.0, steepness) == pytest.approx(0.05, rel=1e-12)


def test_removal_never_rises():
    grid = np.linspace(0.0, 20_000.0, 400)
    removal = np.array([carbon.removal_fraction(n, 0.30, 0.05, 3000.0, 4.0) for n in grid])
    assert (np.diff(removal) < 0).all()


def test_half_of_what_can_wear_off_is_gone_at_half_breakthrough_with_a_steep_front():
    assert carbon.removal_fraction(3000.0, 0.30, 0.10, 3000.0, 60.0) == pytest.approx(0.20, rel=1e-12)


def test_contact_time_halves_when_flow_doubles():
    assert carbon.contact_time_s(1e-3, 2e-4) == 2 * carbon.contact_time_s(1e-3, 4e-4) == 5.0
