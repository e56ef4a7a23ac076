"""What the check of a design says of odd houses: words and numbers a designer can go by."""

import re

import pytest

from sim.commands.check import line
from sim.scenario.odd import warnings
from sim.study.check.criteria import judged, note
from sim.study.check.criterion import FAIL, criteria
from sim.study.check.finding import Finding
from sim.study.check.site_check import figures
from sim.units import FOOT_M, PSI_PA
from tests.changed_site import site


def of(scenario, key):
    return next(one for one in judged(scenario) if one.key == key)


def test_a_comparison_names_the_tap_as_the_check_does():
    said = note(site(house__lift="100 ft"))[-1]
    assert "highest tap" in said and "lowest" not in said
    assert criteria()["highest tap"].name.startswith("highest tap")


def figure(scenario, label, units="us"):
    return next((one for one in figures(scenario, units) if one.label == label), None)


# Pump 22 ft above the floor at 9,000 ft: 24.3 ft of air less 0.7 ft of vapour leave hardly any suction head.
STARVED = {"pump__height": "22 ft", "house__altitude": "9000 ft", "pump__shutoff_head": "190 ft"}


def test_no_peak_flow_for_want_of_suction_head_says_why():
    starved = site(**STARVED)
    peak = of(starved, "peak flow")
    assert peak.state == FAIL and "lacks suction head and cavitates" in peak.note
    assert of(starved, "suction").state == FAIL
    assert "suction" not in of(site(), "peak flow").note


def test_the_head_of_a_starved_pump_is_what_it_works_against_and_not_its_curve():
    at_cut_in = figure(site(**STARVED), "pump at cut-in")
    flow, head = (float(one) for one in re.findall(r"[\d.]+", at_cut_in.value))
    # 40 psi are 92.3 ft; half of 10,000 gal over 12 m2 stands 5.2 ft above the floor; 0.02 ft/gpm2
    assert head == pytest.approx(40 * PSI_PA / 9800 / FOOT_M + 22 - 5.17 + 0.02 * flow**2, abs=0.3)
    assert "cavitates" in at_cut_in.note and at_cut_in.warning
    assert "cavitates" not in figure(site(), "pump at cut-in").note


def test_a_pump_that_never_reaches_cut_out_is_said_not_to_stop():
    starved = site(**STARVED | {"cistern__floor": "300 ft2"})
    assert figure(starved, "pump at cut-out").value.startswith("0.00 gpm")
    assert "does not stop" in of(starved, "run").note
    assert "does not stop" not in of(site(), "run").note


@pytest.mark.parametrize(("units", "litres"), [("us", 3.785411784), ("si", 1.0)])
def test_a_small_drawdown_is_no_nought(units, litres):
    held = {"pump__speed": "constant pressure", "pressure_switch__cut_in": "55 psi"}
    shown = figure(site(**held, pressure_tank__volume="5 gal"), "drawdown of the pressure tank", units).value
    # Boyle's law at 50 m (14.61 psi): 5 gal x 52.61 x (1/69.61 - 1/74.61) = 0.253 gal
    assert float(shown.split()[0]) * litres == pytest.approx(0.253 * 3.785, rel=0.02)


def test_a_rating_in_other_units_is_not_below_the_pump_for_its_rounding():
    said = "uv.rated_flow: below pump.best_flow"
    asked = {"pump__best_flow": "12 gpm"}
    assert not any(said in one for one in warnings(site(**asked, uv__rated_flow="45.4 L/min")))
    assert any(said in one for one in warnings(site(**asked, uv__rated_flow="44 L/min")))


def test_a_standby_pump_is_told_of():
    two = figure(site(pump__standby=True, pump__standby_after="2 min"), "standby pump")
    assert "takes over 2 min after the running one has failed" in two.note
    assert figure(site(), "standby pump") is None


def test_what_mains_keep_back_is_said_in_words():
    assert "0.5 d of demand kept, our assumption" in of(site(cistern__mains_flow="5 gpm"), "levels").note


def test_a_figure_is_marked_only_where_it_is_out_of_good_practice():
    assert line(Finding("rain a year", "1,100 mm")) == "  rain a year: 1,100 mm"
    assert line(Finding("contact", "5 s", "brief", warning=True)) == "! contact: 5 s  (brief)"
