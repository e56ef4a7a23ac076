import numpy as np
import pytest

from sim.plant import uv

RATED = {
    "rated_flow_m3_s": 3.785e-4,
    "rated_dose_new_j_m2": 571.0,
    "rated_absorbance_per_m": 2.228,
    "gap_m": 0.0235,
}


def dose(flow=3.785e-4, absorbance=2.228, optical=1.0):
    r = RATED
    return uv.dose_j_m2(
        flow,
        r["rated_flow_m3_s"],
        r["rated_dose_new_j_m2"],
        absorbance,
        r["rated_absorbance_per_m"],
        r["gap_m"],
        optical,
    )


def test_water_factor_is_one_in_clear_water_and_joins_its_series():
    assert uv.water_factor(0.0, 0.02) == 1.0
    assert uv.water_factor(2e-7, 0.02) == pytest.approx(uv.water_factor(2.2e-7, 0.02), abs=1e-8)
    assert uv.water_factor(1e-4, 0.02) == pytest.approx(1.0 - 2.302585092994046 * 1e-6, abs=4e-12)


def test_water_factor_falls_with_colour_and_gap_and_stays_positive():
    falls = [uv.water_factor(a, 0.02) for a in np.linspace(0.0, 500.0, 200)]
    assert (np.diff(falls) < 0).all()
    assert falls[-1] > 0.0
    assert uv.water_factor(5.0, 0.03) < uv.water_factor(5.0, 0.02)


def test_dose_at_the_rating_is_the_rated_dose():
    assert dose() == pytest.approx(571.0, rel=1e-12)


def test_dose_goes_as_one_over_flow_and_in_proportion_to_the_optics():
    assert dose(flow=2 * 3.785e-4) == pytest.approx(571.0 / 2, rel=1e-12)
    assert dose(optical=0.42) == pytest.approx(0.42 * 571.0, rel=1e-12)
    assert dose(optical=0.0) == 0.0


def test_dose_falls_with_colour_and_exceeds_the_rating_in_clearer_water():
    assert (np.diff([dose(absorbance=a) for a in np.linspace(0.0, 30.0, 60)]) < 0).all()
    assert dose(absorbance=0.0) > 571.0


def test_new_dose_undoes_the_ageing_of_the_data_sheet():
    assert uv.new_dose_j_m2(400.0, 0.7) * 0.7 == pytest.approx(400.0, rel=1e-12)
    assert uv.new_dose_j_m2(400.0, 1.0) == 400.0


def test_sensor_reads_one_when_new_and_cannot_tell_its_four_causes_apart():
    assert uv.sensor_fraction(1.0, 1.0, 1.0, 1.0, 2.2, 2.2, 0.0235) == 1.0
    causes = [
        uv.sensor_fraction(*(0.7 if i == j else 1.0 for j in range(4)), 2.2, 2.2, 0.0235) for i in range(4)
    ]
    assert causes == [0.7] * 4


def test_sensor_reads_nothing_of_an_unlit_lamp_and_above_one_in_clearer_water():
    assert uv.sensor_fraction(0.0, 0.9, 0.9, 1.0, 2.2, 2.2, 0.0235) == 0.0
    assert uv.sensor_fraction(1.0, 1.0, 1.0, 1.0, 1.0, 2.2, 0.0235) > 1.0


def test_window_film_lowers_the_reading_and_no_argument_of_the_dose():
    assert uv.sensor_fraction(1.0, 1.0, 0.5, 1.0, 2.2, 2.2, 0.0235) == 0.5
    assert "window" not in uv.dose_j_m2.py_func.__code__.co_varnames


@pytest.mark.parametrize("share", [1.0, 0.95, 0.7, 0.05])
def test_absorbance_and_transmittance_are_inverse(share):
    assert uv.transmittance_per_cm(uv.absorbance_per_m(share)) == pytest.approx(share, rel=1e-12)


def test_films_add_in_the_exponent():
    both = uv.film_transmittance(0.2 + 0.3)
    assert both == pytest.approx(uv.film_transmittance(0.2) * uv.film_transmittance(0.3), rel=1e-12)
    assert uv.film_transmittance(0.0) == 1.0


def test_wipe_takes_off_its_share_and_no_film_appears():
    film, permanent = uv.film_after_wipe(0.4, 0.1, 0.95, 0.25)
    assert film + permanent == pytest.approx(0.05 * 0.4 + 0.1, rel=1e-12)
    assert permanent == pytest.approx(0.1 + 0.25 * 0.02, rel=1e-12)


@pytest.mark.parametrize(
    ("wiped", "residue", "expected"),
    [(1.0, 0.5, (0.0, 0.1)), (0.0, 0.0, (0.4, 0.1)), (0.0, 1.0, (0.0, 0.5))],
    ids=["perfect wipe", "no wipe", "all sets"],
)
def test_wipe_at_its_ends(wiped, residue, expected):
    assert uv.film_after_wipe(0.4, 0.1, wiped, residue) == pytest.approx(expected, rel=1e-12)


def test_permanent_film_only_grows_over_years_of_wiping():
    film, permanent, seen = 0.0, 0.0, []
    for _ in range(40):
        film, permanent = uv.film_after_wipe(film + 0.07, permanent, 0.95, 0.2)
        seen.append(permanent)
    assert (np.diff(seen) > 0).all()


def test_alarm_protects_exactly_from_the_least_dose_on():
    least = uv.least_protecting_dose_j_m2(400.0, 0.6)
    assert uv.alarm_protects(least, 400.0, 0.6) is True
    assert uv.alarm_protects(least * (1 - 1e-12), 400.0, 0.6) is False
    assert uv.alarm_protects(400.0, 400.0, 1.0) is True


@pytest.mark.parametrize("organism", list(uv.REQUIRED_DOSE_J_M2))
def test_log_credit_steps_up_and_is_bounded(organism):
    credits_ = [uv.log_credit(d, organism) for d in np.linspace(0.0, 3000.0, 600)]
    assert (np.diff(credits_) >= 0).all()
    assert (credits_[0], credits_[-1]) == (0.0, 4.0)


def test_log_credit_knows_no_other_organism():
    with pytest.raises(KeyError):
        uv.log_credit(400.0, "unicorn")
