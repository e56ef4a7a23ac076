"""Design figures of a site against hand computation, and the warnings that go with them."""

import pytest

from sim.scenario.read import load
from sim.study.check import site_check
from sim.units import GPM_M3_S


@pytest.fixture
def site():
    return load.load(load.DEMO)


def found(site, label, units="us"):
    return next(item for item in site_check.figures(site, units) if item.label == label)


def with_uv(site, **changed):
    return site.model_copy(update={"uv": site.uv.model_copy(update=changed)})


def test_drawdown_is_boyles_law(site):
    vessel, switch = site.tank, site.switch
    assert vessel.gas_exponent == 1.0
    atmosphere_pa = 101325.0 * (1 - 2.25577e-5 * site.house.altitude_m) ** 5.25588  # ISO 2533, from memory
    air = [
        (vessel.precharge_pa + atmosphere_pa) / (at + atmosphere_pa)
        for at in (switch.cut_in_pa, switch.cut_out_pa)
    ]
    expected_l = vessel.volume_m3 * (air[0] - air[1]) * 1e3
    shown = float(found(site, "drawdown of the pressure tank", "si").value.split()[0])
    assert shown == pytest.approx(expected_l, abs=0.5)  # half the last digit shown


def test_an_alarm_at_60_percent_wants_two_thirds_more_than_the_target(site):
    # 40 mJ/cm2 / 0.60 = 66.7 mJ/cm2 for a new and clean unit
    at_end = {"rated_at": "end of lamp life", "output_at_end": 0.7, "target_j_m2": 400.0, "alarm": 0.6}
    too_late = with_uv(site, dose_at_rating_j_m2=466.0, **at_end)
    in_time = with_uv(site, dose_at_rating_j_m2=467.0, **at_end)
    late, early = (found(each, "UV alarm against the target") for each in (too_late, in_time))
    assert (late.value, late.warning) == ("comes too late", True)
    assert (early.value, early.warning) == ("comes in time", False)
    assert "66.7 mJ/cm2" in late.note


def test_a_dose_equal_to_the_target_is_not_below_it(site):
    just = with_uv(site, target_j_m2=site.uv.dose_at_rating_j_m2, rated_at="end of lamp life")
    assert not found(just, "UV dose, end of lamp life, rated flow").warning


def test_tap_pressure_falls_with_flow(site):
    pressures = [site_check.tap_pressure_pa(site, gpm * GPM_M3_S) for gpm in (0.0, 5.0, 10.0)]
    assert pressures == sorted(pressures, reverse=True)
    still_pa = site.switch.cut_in_pa - 999.1 * 9.80665 * site.house.lift_m  # 999.1 kg/m3 at 15 deg C
    assert pressures[0] == pytest.approx(still_pa, abs=5.0)
