"""Design figures by hand, with numbers that are easy to follow: drops, contact, doses, darkness, pump use."""

import math
import re

import pytest

from sim.study.check.pump_use import (
    least_pressure_pa,
    mean_life_s,
    pump_flow_m3_s,
    pump_life,
    use_of,
    worst_starts_per_h,
)
from sim.study.check.site_check import by_gravity_m3_s, figures, tap_pressure_pa
from sim.study.check.site_water import absorbance_per_m
from sim.twin.clean_stage import stage_drop_pa
from sim.units import GPM_M3_S, PSI_PA
from tests.changed_site import site

G = 9.80665
DENSITY = 999.1  # kg/m3 of water at 15 deg C (CRC handbook)


def stages(scenario, **changed):
    """Return a site whose stages all have other values."""
    return scenario.model_copy(
        update={"stages": tuple(one.model_copy(update=changed) for one in scenario.stages)}
    )


def found(scenario, label, units="us"):
    return next(one for one in figures(scenario, units) if one.label == label)


# --- drops and what is left ---
@pytest.mark.parametrize("housings", [1, 2])
def test_a_clean_stage_drops_by_its_data_sheet(housings):
    """Housings side by side share the flow: half through each of two."""
    stage = stages(site(), linear_pa_s_m3=2e7, quadratic_pa_s2_m6=5e10, housings=housings).stages[0]
    flow = 4e-4
    through = flow / housings
    assert stage_drop_pa(stage, flow) == pytest.approx(2e7 * through + 5e10 * through**2)


def test_the_highest_tap_has_what_all_before_it_leave():
    house = stages(site(pump__speed="fixed"), linear_pa_s_m3=1e7, quadratic_pa_s2_m6=0.0, housings=1)
    unit = house.uv.model_copy(
        update={"linear_pa_s_m3": 3e6, "quadratic_pa_s2_m6": 1e10, "restrictor_m3_s": None}
    )
    house = house.model_copy(update={"uv": unit})
    flow = 3e-4
    still = tap_pressure_pa(house, 0.0)
    assert still == pytest.approx(house.switch.cut_in_pa - DENSITY * G * house.house.lift_m, abs=20.0)
    through = len(house.stages) * 1e7 * flow + 3e6 * flow + 1e10 * flow**2
    pipe = (
        still - tap_pressure_pa(house, flow) - through
    ) / flow**2  # what is left is of the pipe, a square law
    assert tap_pressure_pa(house, 2.0 * flow) == pytest.approx(
        still - len(house.stages) * 2e7 * flow - 6e6 * flow - 4e10 * flow**2 - 4.0 * pipe * flow**2, rel=1e-6
    )
    assert pipe > 0.0


def test_a_flow_by_gravity_uses_up_what_drives_it():
    house = stages(site(), linear_pa_s_m3=1e7, quadratic_pa_s2_m6=2e10, housings=1)
    flow = by_gravity_m3_s(house, 60_000.0, 2.0)
    drop = (house.switch.cut_in_pa - DENSITY * G * house.house.lift_m) - tap_pressure_pa(house, flow)
    assert drop == pytest.approx(60_000.0 - DENSITY * G * 2.0, rel=1e-3)
    assert by_gravity_m3_s(house, 19_000.0, 2.0) == 0.0  # 19.6 kPa are needed to rise 2 m
    tight = house.model_copy(update={"uv": house.uv.model_copy(update={"restrictor_m3_s": 1e-4})})
    assert by_gravity_m3_s(tight, 60_000.0, 2.0) <= 1e-4


def test_contact_in_a_carbon_bed_is_bed_over_flow():
    """A bed of 1.5 L at 5 gpm (0.3155 L/s) holds its water 4.8 s; two of them twice as long."""
    house = site()
    name = next(one.name for one in house.stages if one.carbon_bed_m3 > 0)
    for housings, contact_s in ((1, 4.8), (2, 9.5)):
        said = found(stages(house, carbon_bed_m3=1.5e-3, housings=housings), f"contact in {name} at 5.00 gpm")
        assert said.value == f"{contact_s} s" and said.warning and "polishes taste only" in said.note
    ample = found(stages(house, carbon_bed_m3=3.2e-3), f"contact in {name} at 5.00 gpm")
    assert ample.value == "10.1 s" and not ample.warning and ample.note == ""


# --- light ---
def test_doses_of_a_unit_in_the_water_of_its_rating():
    """40 mJ/cm2 at the end of a lamp's life, when it gives 80 %: 50 when new; half that at twice the flow."""
    house = site(design__transmittance=0.9)
    unit = house.uv.model_copy(update={
        "rated_transmittance": 0.9, "dose_at_rating_j_m2": 400.0, "rated_at": "end of lamp life",
        "output_at_end": 0.8, "target_j_m2": 400.0, "units": 1, "least_tested_share": 0.0,
        "restrictor_m3_s": None,
    })  # fmt: skip
    house = house.model_copy(update={"uv": unit})
    new, end = (found(house, f"UV dose, {age}, rated flow") for age in ("new lamp", "end of lamp life"))
    assert (new.value, new.warning) == ("50.0 mJ/cm2", False)
    assert (end.value, end.warning) == ("40.0 mJ/cm2", False)
    assert "water of 90 % per cm" in new.note and "target" not in end.note
    slow = house.model_copy(
        update={"uv": unit.model_copy(update={"rated_flow_m3_s": unit.rated_flow_m3_s / 2.0})}
    )
    design = "UV dose, new lamp, design flow"
    dose, half = (float(found(one, design).value.split()[0]) for one in (house, slow))
    assert half == pytest.approx(dose / 2.0, rel=0.01)
    low = house.model_copy(update={"uv": unit.model_copy(update={"target_j_m2": 401.0})})
    late = found(low, "UV dose, end of lamp life, rated flow")
    assert late.warning and "below the target of 40.1 mJ/cm2" in late.note


def test_a_measured_transmittance_goes_before_what_is_worked_out():
    assert absorbance_per_m(site(design__transmittance=0.8)) == pytest.approx(-100.0 * math.log10(0.8))


def test_the_darker_of_cistern_and_runoff_reaches_the_unit_through_spent_carbon():
    clean = {
        "cistern__start_colour": "9 1/m",
        "roof__colour_base": "0 1/m",
        "roof__colour_limit_mm_per_m": 0.0,
    }
    house = site(**clean)
    beds = [one for one in house.stages if one.carbon_bed_m3 > 0]
    spent = math.prod(1.0 - one.carbon_floor for one in beds)
    assert len(beds) == 1 and absorbance_per_m(house) == pytest.approx(9.0 * spent)
    # No dust on the roof: runoff is as dark as rain that fell on a clean one.
    darker = clean | {"roof__colour_base": "12 1/m"}
    assert absorbance_per_m(site(**darker)) == pytest.approx(12.0 * spent)
    # A first flush that takes all of a mean wet day leaves nothing of the dust either.
    dusty = darker | {"roof__colour_limit_mm_per_m": 50.0}
    assert absorbance_per_m(site(**dusty, roof__first_flush="49 mm")) == pytest.approx(12.0 * spent)
    assert absorbance_per_m(site(**dusty)) > 12.0 * spent


def test_the_target_is_said_to_be_worth_what_the_surface_water_rule_credits():
    """40 CFR 141.720(d): 12 mJ/cm2 for 3 log of Cryptosporidium, 11 of Giardia, 186 for 4 log of viruses."""
    said = found(site(uv__target="12 mJ/cm2"), "log credit of the dose target").value
    credit = {name.lower(): float(value) for name, value in re.findall(r"(\w+) ([\d.]+)", said)}
    assert credit["cryptosporidium"] == 3.0 and credit["giardia"] >= 3.0
    assert [value for name, value in credit.items() if name.startswith("virus")] == [0.0]


# --- pump ---
def test_how_a_pump_is_used():
    house = site(pump__speed="fixed")
    use, switch = use_of(house), house.switch
    flow = (pump_flow_m3_s(house, switch.cut_in_pa) + pump_flow_m3_s(house, switch.cut_out_pa)) / 2.0
    assert use.flow_m3_s == pytest.approx(flow)
    assert use.run_s == pytest.approx(use.drawdown_m3 / flow)
    # Every litre goes through the pump: starts times drawdown, and hours times flow, come to the same water.
    assert use.starts_per_year * use.drawdown_m3 == pytest.approx(use.run_h_per_year * 3600.0 * flow)
    # At half the flow it fills as fast as it is emptied: a cycle takes 4 V/Q (handbooks on pressure tanks).
    assert worst_starts_per_h(house) == pytest.approx(3600.0 * flow / (4.0 * use.drawdown_m3))


def test_a_pump_that_holds_its_pressure_starts_oftenest_just_below_its_least_flow():
    house = site(pump__speed="constant pressure", pressure_switch__cut_in="55 psi")
    machine, use = house.pump, use_of(house)
    drawn = machine.least_flow_m3_s
    cycle_s = use.drawdown_m3 / drawn + use.drawdown_m3 / (use.flow_m3_s - drawn) + machine.stop_delay_s
    assert worst_starts_per_h(house) == pytest.approx(3600.0 / cycle_s)
    assert use.run_s == pytest.approx(use.drawdown_m3 / use.flow_m3_s + machine.stop_delay_s)
    assert least_pressure_pa(house, 1e-4) == house.switch.cut_out_pa  # it holds what a small draw asks for
    assert least_pressure_pa(house, 50.0 * GPM_M3_S) == house.switch.cut_in_pa  # nobody's pump gives that
    assert least_pressure_pa(site(pump__speed="fixed"), 1e-4) == pytest.approx(40.0 * PSI_PA, rel=1e-4)


def test_half_of_the_pumps_last_as_long_as_is_said():
    """Of a Weibull life: mean over median is Gamma(1 + 1/b) / ln(2)^(1/b)."""
    house = site()
    b = house.pump.life_shape
    median_years = (
        mean_life_s(house) / (365.25 * 86400.0) * math.log(2.0) ** (1.0 / b) / math.gamma(1.0 + 1.0 / b)
    )
    said = pump_life(house)
    assert float(said.value.split()[0]) == pytest.approx(median_years, abs=0.06)
    idle = house.pump.life_age_s / (365.25 * 86400.0) * math.log(2.0) ** (1.0 / b)
    assert f"{idle:.0f} yr where it hardly starts" in said.note
    assert said.warning == (median_years < 0.7 * idle)


def test_short_runs_are_said_to_be_short_and_wear_more():
    long_runs, short_runs = site(pressure_tank__volume="1 m3"), site(pressure_tank__volume="0.02 m3")
    assert use_of(long_runs).run_s > 60.0 > use_of(short_runs).run_s
    assert "all of them short" in pump_life(short_runs).note and "short" not in pump_life(long_runs).note
    assert mean_life_s(short_runs) < mean_life_s(long_runs)
