"""Criteria of a design: limits from codes, what is out of them, and that not known is never a pass."""

import json
import math
from types import SimpleNamespace

import pytest

from sim import cli
from sim.commands.check import FAILS
from sim.demand import fixtures
from sim.scenario.house import Fixture
from sim.scenario.odd import warnings
from sim.scenario.read import load
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.study.check.criteria import judged, note, verdict
from sim.study.check.criterion import FAIL, PASS, UNKNOWN, criteria, judge
from sim.study.check.design_flow import Peak, design_flow_m3_s, peaks
from sim.study.check.finding import Finding
from sim.study.check.site_supply import yearly_demand_m3
from sim.study.check.tables import figure_frame, peak_frame
from sim.units import FOOT_M, GPM_M3_S, PSI_PA
from tests.changed_site import site


def states(scenario, key):
    return [one.state for one in judged(scenario) if one.key == key]


def of(scenario, key):
    return next(one for one in judged(scenario) if one.key == key)


def test_there_are_nineteen_and_each_says_what_it_rests_on():
    found = criteria().values()
    assert {one.number for one in found} == set(range(1, 20))
    for one in found:
        assert one.formula and one.source and one.way in ("at most", "at least", "as said")
        assert one.grade in tuple("S2MCA")


def test_every_criterion_is_judged_in_their_order():
    order = list(criteria())
    keys = [one.key for one in judged(site())]
    assert set(keys) == set(order)
    assert keys == sorted(keys, key=order.index)


@pytest.mark.parametrize(
    ("key", "limit"),
    [  # IPC 604.3, UPC 608.2, Chicago 18-29-604.10, NSF/ANSI 55 class A
        ("highest tap", 20 * PSI_PA), ("static", 80 * PSI_PA), ("velocity", 8 * FOOT_M), ("UV dose", 400.0),
    ],
)  # fmt: skip
def test_limits_are_those_of_the_codes(key, limit):
    assert of(site(), key).limit == pytest.approx(limit, rel=1e-9)


def test_what_nobody_stated_is_not_known_and_no_pass():
    found = judged(site())
    for key in ("dead head", "UV class", "pre-treatment", "days below target", "overflow", "access"):
        assert states(site(), key) == [UNKNOWN]
    passed = sum(one.state == PASS for one in found)
    assert f" {passed} pass" in verdict(found)


@pytest.mark.parametrize(
    ("passing", "failing", "unknown", "said"),
    [
        (1, 1, 1, "Of 3 lines 1 passes, 1 fails, 1 is not known;"),
        (2, 0, 2, "Of 4 lines 2 pass, 0 fail, 2 are not known;"),
        (0, 2, 0, "Of 2 lines 0 pass, 2 fail, 0 are not known;"),
    ],
)
def test_the_verdict_counts_in_words_that_agree(passing, failing, unknown, said):
    states = [PASS] * passing + [FAIL] * failing + [UNKNOWN] * unknown
    assert verdict([SimpleNamespace(state=state) for state in states]).startswith(said)


def test_a_figure_that_warns_is_marked_and_a_peak_nobody_can_count_is_not_known():
    found = [Finding("dirt", "1 kg", warning=True), Finding("roof", "90 m2")]
    assert list(figure_frame(found)["mark"]) == ["look", ""]
    counted = [Peak("by units", None, "nothing stated"), Peak("by use", 10.0 * GPM_M3_S, "draws")]
    assert list(peak_frame(counted, "us")["value"]) == ["not known", "10.00 gpm"]


def test_ratings_that_are_stated_decide():
    rated = {"stage__sediment__most_pressure": "90 psi", "stage__carbon__most_pressure": "90 psi",
             "uv__most_pressure": "100 psi", "pressure_tank__most_pressure": "100 psi"}  # fmt: skip
    # 180 ft and a full cistern 3.155 - 1.5 m above the pump: 78.0 + 2.4 psi by 0.433 psi a foot
    assert of(site(**rated), "dead head").value / PSI_PA == pytest.approx(
        0.433 * (180 + 1.655 / FOOT_M), rel=2e-3
    )
    assert states(site(**rated), "dead head") == [PASS]
    assert states(site(**rated | {"uv__most_pressure": "79 psi"}), "dead head") == [FAIL]


def test_dead_head_of_143_psi_is_marked_though_no_rating_is_stated():
    strong = site(pump__shutoff_head="325 ft")
    assert of(strong, "dead head").value / PSI_PA == pytest.approx(143.0, abs=0.7)
    assert of(strong, "dead head").state == FAIL


def test_a_unit_in_dark_water_is_judged_by_that_water():
    dark = site(cistern__start_colour="15 1/m", roof__colour_base="15 1/m")
    assert states(site(), "UV water") == [PASS]
    assert states(dark, "UV water") == states(dark, "pre-treatment") == [FAIL]
    # through spent carbon that keeps 95 %: 10^(-0.1425) of the light a centimetre
    assert of(dark, "UV water").value == pytest.approx(10**-0.1425, rel=0.02)
    # the mean of a light that falls as e^(-a x) across the gap of 2.35 cm: (1 - e^(-a d))/(a d)
    shares = []
    for one in (dark, site()):
        reach = -math.log(of(one, "UV water").value) * 2.35
        shares.append((1.0 - math.exp(-reach)) / reach)
    ratio = of(dark, "UV dose").value / of(site(), "UV dose").value
    assert ratio == pytest.approx(shares[0] / shares[1], rel=1e-9)


def test_a_measured_transmittance_takes_the_place_of_that_on_paper():
    assert of(site(design={"transmittance": "70 %"}), "UV water").value == pytest.approx(0.70)


def test_class_b_never_passes_and_class_a_does():
    assert states(site(uv__tested_as="class B"), "UV class") == [FAIL]
    assert states(site(uv__tested_as="class A"), "UV class") == [PASS]


def test_no_dose_passes_outside_what_was_tested():
    # OENORM M 5873 as told by the Austrian food code: no credit beyond the tested flow or in darker water
    strong = {"uv__dose_at_rating": "120 mJ/cm2", "uv__restrictor": "9 gpm"}  # 1.15 x 9 = 10.35 gpm
    beyond = of(site(**strong, uv__rated_flow="10 gpm"), "UV dose")
    assert beyond.value > 400.0 and beyond.state == FAIL and "none of it is credited" in beyond.note
    assert states(site(**strong, uv__rated_flow="10.4 gpm"), "UV dose") == [PASS]
    dark = {
        "uv__rated_flow": "10.4 gpm",
        "uv__rated_transmittance": "85 %",
        "design": {"transmittance": "80 %"},
    }
    assert states(site(**strong, **dark), "UV dose") == [FAIL]


def test_a_value_that_rounds_to_its_limit_and_fails_says_on_which_side():
    assert judge("run", 59.9, "us").said == "just under 60 s"
    assert judge("run", 60.0, "us").said == "60 s"
    assert judge("run", 58.0, "us").said == "58 s"
    assert judge("starts an hour", 15.01, "us").said == "just over 15.0"


def test_a_design_flow_that_never_comes_is_said():
    # 40 psi at cut-in; a lift of 100 ft alone takes 43 psi by 0.433 psi a foot
    assert "never comes" in of(site(house__lift="100 ft"), "highest tap").note
    assert of(site(), "highest tap").note == ""


def test_at_what_flow_runs_take_a_restrictor_is_said():
    held = site(uv__restrictor="6.9 gpm")
    assert "15 %" in note(held)[0] and not any("restrictor" in one for one in note(site()))
    assert not any("restrictor" in one for one in note(site(uv__restrictor_kind="orifice")))


def test_a_restrictor_is_to_let_the_peak_through_at_its_least():
    # 15 % under its flow, from memory: 0.85 x 8 = 6.8, 0.85 x 8.3 = 7.055 gpm, for a design flow of 7
    asked = {"design": {"flow": "7 gpm"}}
    assert of(site(**asked, uv__restrictor="8 gpm"), "peak flow").value / GPM_M3_S == pytest.approx(6.8)
    assert states(site(**asked, uv__restrictor="8 gpm"), "peak flow") == [FAIL]
    assert states(site(**asked, uv__restrictor="8.3 gpm"), "peak flow") == [PASS]
    assert "restrictor" not in of(site(**asked, uv__restrictor="40 gpm"), "peak flow").note


def test_the_drop_of_a_restrictor_is_missing_at_the_tap():
    # its 15 psi at 8 gpm go as the square of the flow: 15 x (6/8)^2 = 8.4375 psi at 6 gpm
    asked = {"design": {"flow": "6 gpm"}}
    held = {"uv__restrictor": "8 gpm", "uv__restrictor_drop": "15 psi"}
    without = of(site(**asked), "highest tap").value
    for kind in ("constant flow", "orifice"):
        left = of(site(**asked, **held, uv__restrictor_kind=kind), "highest tap").value
        assert (without - left) / PSI_PA == pytest.approx(8.4375)


def test_an_orifice_is_judged_by_all_the_pressure_there_is():
    # nothing else in the way: 60 psi at cut-out is four times 15 psi, so twice the flow
    bare = {"uv__quadratic": "0 psi/gpm2", "uv__restrictor": "3 gpm", "uv__restrictor_kind": "orifice"}
    wide = {"stage__carbon__clean_linear": "1 Pa s/m3", "stage__sediment__clean_linear": "1 Pa s/m3",
            "stage__carbon__housing_quadratic": "0 psi/gpm2",
            "stage__sediment__housing_quadratic": "0 psi/gpm2"}  # fmt: skip
    found = of(site(**bare, **wide, uv__restrictor_drop="15 psi"), "UV flow")
    assert found.value / GPM_M3_S == pytest.approx(6.0, rel=1e-6) and "orifice" in found.note


def test_a_restrictor_holds_the_flow_with_its_spread():
    held = site(uv__restrictor="7 gpm")  # 1.15 x 7 = 8.05 gpm, over 8
    assert of(held, "UV flow").value / GPM_M3_S == pytest.approx(8.05)
    assert states(held, "UV flow") == [FAIL]
    assert states(site(uv__restrictor="6.9 gpm"), "UV flow") == [PASS]


def test_a_fine_cartridge_before_a_coarse_one_is_marked():
    assert states(site(), "order") == [PASS]
    swapped = site(stage__sediment__rating="1 um", stage__carbon__rating="50 um")
    assert states(swapped, "order") == [FAIL]
    assert "carbon (50 um) stands behind the finer sediment (1 um)" in of(swapped, "order").note


def test_a_cartridge_rated_below_the_design_flow_is_marked_by_its_name():
    found = [one for one in judged(site(stage__carbon__rated_flow="2 gpm")) if one.key == "cartridge flow"]
    assert [(one.of, one.state) for one in found] == [("sediment", PASS), ("carbon", FAIL)]


def test_velocity_is_flow_over_area():
    narrow = site(house__pipe_bore="15 mm", design={"flow": "10 gpm"})
    assert of(narrow, "velocity").value == pytest.approx(10 * GPM_M3_S / (math.pi / 4 * 0.015**2))
    assert states(narrow, "velocity") == [FAIL]


def test_a_tanker_trigger_below_the_intake_is_marked_everywhere():
    low = site(
        cistern__capacity="10 m3", cistern__top_up_below=0.08
    )  # trigger 0.8, intake 0.12 x 12 = 1.44 m3
    assert states(low, "levels") == [FAIL]
    assert "never sinks to it" in of(low, "levels").note
    assert any("no tanker ever comes" in line for line in warnings(low))
    assert any("levels" in line for line in note(low))
    assert not any("no tanker" in line for line in warnings(site()))


def test_the_small_tank_fails_on_starts_and_runs_by_the_books_formula():
    small = site(pressure_tank__volume="20 L")
    starts, run = of(small, "starts an hour"), of(small, "run")
    assert (starts.state, run.state) == (FAIL, FAIL)
    # the shortest cycle is four times the shortest run: t = 4 Vd/q (EI 11C201; MIL-HDBK-1005/9A)
    assert starts.value == pytest.approx(3600.0 / (4.0 * run.value), rel=1e-9)


def test_a_pump_with_too_little_suction_is_marked():
    assert states(site(pump__height="9 m"), "suction") == [FAIL]


def test_peaks_stand_beside_each_other_and_the_design_flow_is_chosen():
    names = [one.name for one in peaks(site())]
    assert len(names) == 6
    by = {method: design_flow_m3_s(site(design={"peak": method})) for method in
          ("statistical", "fixture units", "loading units")}  # fmt: skip
    assert len(set(by.values())) == 3
    assert design_flow_m3_s(site(design={"flow": "9 gpm"})) == pytest.approx(9 * GPM_M3_S)
    more = site(design={"continuous": "5 gpm"})
    assert design_flow_m3_s(more) - by["statistical"] == pytest.approx(5 * GPM_M3_S)


def test_more_bathrooms_ask_for_more_by_units():
    """The expected peak of a household hardly moves with its taps; counts of fixtures do."""
    grown = site()
    uses = tuple(use.model_copy(update={"fixtures": 2 * use.fixtures}) for use in grown.house.uses)
    grown = grown.model_copy(update={"house": grown.house.model_copy(update={"uses": uses})})
    for method in ("fixture units", "loading units"):
        small, large = (
            design_flow_m3_s(
                one.model_copy(update={"design": one.design.model_copy(update={"peak": method})})
            )
            for one in (site(), grown)
        )
        assert large > 1.2 * small


def test_a_use_without_a_fixture_leaves_the_design_flow_unknown():
    tables = tables_of(load.load(load.DEMO))
    tables["house"]["use"][0].pop("fixture")
    one = scenario_of(tables, "test")
    assert design_flow_m3_s(one) is None
    assert states(one, "velocity") == states(one, "peak flow") == [UNKNOWN]


def test_kinds_of_fixtures_are_those_that_are_counted():
    said = set(Fixture.__args__) - {"basins and kitchen sink", "garden tap"}
    assert said == set(fixtures.KINDS)


def test_check_answers_a_machine_and_says_by_its_exit_code_that_one_fails(capsys):
    assert cli.main(["check", "cottage", "--json"]) == FAILS == 3
    told = json.loads(capsys.readouterr().out)
    assert {one["number"] for one in told["criteria"]} == set(range(1, 20))
    assert {one["state"] for one in told["criteria"]} == {PASS, FAIL, UNKNOWN}
    assert len(told["peaks"]) == 6


def test_a_house_in_order_exits_with_none(tmp_path):
    file = tmp_path / "sound.toml"
    file.write_text(SOUND, "utf-8")
    assert cli.main(["check", str(file)]) == 0


# Sizes as a designer would choose them, so that no line fails: a wide train, a restrictor, no bypass.
SOUND = """
extends = "family_house"
[design]
transmittance = "85 %"
[cistern]
capacity = "60 m3"
floor = "20 m2"
[uv]
rated_flow = "12 gpm"
restrictor = "10 gpm"
restrictor_drop = "12 psi"
shutoff_valve = true
[[stage]]
name = "sediment"
size = "4.5x20"
rated_flow = "20 gpm"
clean_linear = "0.015 psi/gpm"
terminal_rise = "6 psi"
[[stage]]
name = "carbon"
rated_flow = "12 gpm"
terminal_rise = "6 psi"
[house]
pipe_bore = "26 mm"
lift = "3 m"
[[fitting]]
name = "bypass valve"
drop = true
"""


@pytest.mark.parametrize(("needed", "wanted_m"), [("2 m", 3.0), ("5 m", 6.5)])
def test_suction_wants_a_metre_or_three_tenths_to_spare_whichever_is_more(needed, wanted_m):
    assert of(site(pump__npsh_required=needed), "suction").limit == pytest.approx(wanted_m, rel=1e-12)


def test_a_tanker_is_to_be_ordered_while_water_for_its_lead_stands_over_the_intake():
    small = site(cistern__floor="12 m2", cistern__intake="0.12 m", cistern__top_up_lead="6 d")
    a_day = yearly_demand_m3(small) / 365.25
    assert of(small, "levels").limit == pytest.approx(1.44 + 6.0 * a_day, rel=1e-9)
