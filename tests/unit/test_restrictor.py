"""A restrictor before the UV unit: what it lets through and takes, what makes no sense, what it costs."""

import math

import numpy as np
import pytest

from sim.errors import InputError
from sim.plant import bypass, train
from sim.scenario.odd import warnings
from sim.scenario.read import load
from sim.scenario.read.load import load_text
from sim.scenario.values.variants import spans
from sim.study.search.alternatives import choices, parse_try
from sim.study.search.catalogue import equipment
from sim.study.sheet.contents import inputs, tags
from sim.twin.run import run
from sim.twin.water import day_step, unpack

GPM, PSI = 6.30902e-5, 6894.757
DEMO = 'extends = "family_house"\n'


def with_uv(lines):
    return load_text(f"{DEMO}[uv]\n{lines}", "held.toml")


def by_hand(plant, tap, most):
    """A full tank, no pump, one tap wide open, a train without linear resistance."""
    bare = plant(most_m3_s=most, pump_works=0, linear_pa_s_m3=0.0, leak_coefficient=0.0, static_pa=0.0)
    return bare.draw([[0.0, tap(9.0), 4000.0, math.inf]])


def test_a_held_flow_empties_the_tank_in_volume_over_flow(plant, tap):
    # dV = Q dt while the restrictor holds; then V follows the pressure that is left
    most = 8.0 * GPM  # beyond 49 psi at the tank
    bare = by_hand(plant, tap, most)
    p = bare.p[0]
    drop = (p["quadratic_pa_s2_m6"] + tap(9.0) ** -2) * most**2
    full, bend = float(bare.s["water_m3"][0]), bare.water_m3(float(drop))
    assert bend < 0.9 * full
    seconds = (full - bend) / most
    steps = bare.run(2.0 * seconds).steps
    held = steps[steps[:, 0] <= seconds * (1.0 + 1e-9)]
    assert held[-1, 0] == pytest.approx(seconds, rel=1e-9)  # it lands on the bend
    assert held[:, 2] == pytest.approx(np.full(len(held), most), rel=1e-9)
    assert (steps[len(held) :, 2] < most).all() and len(steps) > len(held)


def test_an_orifice_lets_through_the_root_of_its_drop():
    # Q = Cd A sqrt(2 dp/rho), the orifice equation: four times the pressure, twice the flow
    unit = with_uv('restrictor = "4 gpm"\nrestrictor_drop = "10 psi"\nrestrictor_kind = "orifice"').uv
    flows = [train.flow_m3_s(psi * PSI, 0.0, unit.restrictor_pa_s2_m6) / GPM for psi in (2.5, 10.0, 40.0)]
    assert flows == pytest.approx([2.0, 4.0, 8.0], rel=1e-5)
    assert math.isinf(unit.most_flow_m3_s)


def test_its_drop_stands_in_the_train_with_the_unit():
    plain, held = (
        unpack.house_record(one, 1.0, 1.0) for one in (with_uv(""), with_uv('restrictor = "6 gpm"'))
    )
    for house in (plain, held):
        day_step.refresh(house)
    more = held["plant"]["quadratic_pa_s2_m6"][0] - plain["plant"]["quadratic_pa_s2_m6"][0]
    assert more * (6.0 * GPM) ** 2 / PSI == pytest.approx(15.0, rel=1e-5)
    assert held["plant"]["most_m3_s"][0] / GPM == pytest.approx(6.0, rel=1e-5)
    assert math.isinf(plain["plant"]["most_m3_s"][0])


def test_an_open_bypass_leads_round_it():
    house = unpack.house_record(with_uv('restrictor = "1 gpm"'), 1.0, 1.0)
    house["faults"]["bypass_open"] = 1
    day_step.refresh(house)
    share, flow = float(house["faults"]["share"][0]), float(house["water"]["drop_flow_m3_s"][0])
    assert math.isinf(house["plant"]["most_m3_s"][0])
    assert share * flow <= 1.0 * GPM * 1.00001
    assert 0.0 < share <= bypass.train_share(flow, 0.0, 1.0, 1e9) < 1.00001


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('restrictor = "0.2 gpm"', "uv.restrictor"),
        ('restrictor = "5 gpm"\nrestrictor_drop = "60 psi"', "uv.restrictor_drop: 60.0 psi"),
        ('restrictor = "5 gpm"\nrestrictor_kind = "valve"', "uv.restrictor_kind"),
        ('restrictor = "5 psi"', "uv.restrictor"),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_line(lines, said):
    with pytest.raises(InputError) as refused:
        with_uv(lines)
    assert said in str(refused.value) and "\n" not in str(refused.value)


def test_what_is_odd_is_said():
    assert not any("restrictor" in one for one in warnings(with_uv('restrictor = "7 gpm"')))
    steep = with_uv('restrictor = "7 gpm"\nrestrictor_drop = "38 psi"')
    assert any(one.startswith("uv.restrictor_drop: at cut_in") for one in warnings(steep))
    idle = with_uv('restrictor_kind = "orifice"')
    assert any(one.startswith("uv.restrictor_kind: is without effect") for one in warnings(idle))


def test_a_search_can_leave_it_out_and_pays_for_it():
    site = load.load(load.DEMO)
    found = choices(site, [parse_try("uv.restrictor=without,6 gpm,8 gpm")], ["by the calendar"])
    houses = [one.design.scenario for one in found]
    assert [one.design.label for one in found] == [
        "without restrictor",
        "restrictor 6 gpm",
        "restrictor 8 gpm",
    ]
    assert houses[0].uv.restrictor_m3_s is None
    assert houses[1].uv.restrictor_m3_s / GPM == pytest.approx(6.0, rel=1e-5)
    parts = [{one.part: one for one in equipment(house, site)} for house in houses]
    assert "restrictor" not in parts[0] and not parts[1]["restrictor"].stated
    assert 0.0 < parts[1]["restrictor"].price < parts[2]["restrictor"].price
    own = load_text(
        f'{DEMO}[uv]\nrestrictor = "8 gpm"\n[[equipment]]\npart = "restrictor"\nprice = 30.0\n', "own"
    )
    assert {one.part: one.price for one in equipment(own, own)}["restrictor"] == 30.0


def test_the_sheet_names_it_where_there_is_one():
    base = load_text('extends = "base"', "base")
    plain, held = with_uv(""), with_uv('restrictor = "8 gpm"')
    assert [name for name, _, _ in tags(held, "us")][-3:] == ["O1 restrictor", "U1 UV unit", "H1 house"]
    assert not any("restrictor" in name for name, _, _ in tags(plain, "us"))
    stated = {key for key, _, _ in inputs(held, base, "us")} - {
        key for key, _, _ in inputs(plain, base, "us")
    }
    assert stated == {"uv.restrictor", "uv.restrictor_kind", "uv.restrictor_drop"}


@pytest.mark.parametrize("kind", ["constant flow", "orifice"])
def test_a_house_with_one_balances_and_is_held(tiny, short, kind):
    site = tiny(uv={"restrictor": "3 gpm", "restrictor_kind": kind})
    history = run(site, site.policies[0], short(site, 30))
    assert max(one.error for one in history.balances) < 1e-9
    flow = history.draws["got_m3"] / np.maximum(history.draws["seconds"], 1.0)
    assert flow.size > 100 and flow.max() > 2.0 * GPM
    assert kind == "orifice" or flow.max() <= 3.0 * GPM * 1.00001


def test_its_drop_is_uncertain_only_where_there_is_one():
    keys = [{span.key for span in spans(with_uv(lines))} for lines in ("", 'restrictor = "8 gpm"')]
    assert keys[1] - keys[0] == {"uv.restrictor_drop"} and keys[0] < keys[1]
