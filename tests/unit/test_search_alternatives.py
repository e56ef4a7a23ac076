"""Alternatives: what a size brings, what outranks it, what is refused; equipment spread over its life."""

import math

import pytest

from sim.errors import InputError
from sim.scenario.read import load
from sim.scenario.read.load import load_text
from sim.scenario.read.scenario_tables import scenario_of, tables_of
from sim.scenario.values.digest import digest
from sim.study.search.alternatives import choices, gathered, parse_try
from sim.study.search.catalogue import equipment
from sim.study.search.places import value_at
from sim.study.size.rules_of_thumb import wanted_tank_m3

GALLON_M3 = 3.785411784e-3
GPM_M3_S = GALLON_M3 / 60.0


@pytest.fixture(scope="module")
def site():
    return load.load(load.DEMO)


def made(site, *tries):
    return [
        one.design.scenario for one in choices(site, [parse_try(line) for line in tries], ["by the calendar"])
    ]


@pytest.mark.parametrize("name", list(load.built_in()))
def test_tables_read_back_to_the_same_scenario(name):
    scenario = load.load(name)
    again = scenario_of(tables_of(scenario), name)
    assert again == scenario
    assert digest(again) == digest(scenario)


def test_a_cartridge_size_brings_what_follows_from_its_area(site):
    """Areas by geometry: pi times outer diameter times length, 2.5 or 4.5 by 9.75 in."""
    small, own = made(site, "stage.sediment.size=2.5x10,4.5x10")
    ratio = 2.5 / 4.5
    before, after = own.stages[0], small.stages[0]
    assert before == site.stages[0]
    assert after.dirt_capacity_kg / before.dirt_capacity_kg == pytest.approx(ratio, rel=2e-3)  # 3 digits
    assert after.linear_pa_s_m3 / before.linear_pa_s_m3 == pytest.approx(1 / ratio, rel=2e-3)
    assert after.quadratic_pa_s2_m6 == before.quadratic_pa_s2_m6
    assert after.price < before.price


def test_carbon_bed_goes_with_volume(site):
    """Volume by geometry: annulus of 4.5 and 1.1 in, 9.75 or 19.75 in long."""
    short, long = made(site, "stage.carbon.size=4.5x10,4.5x20")
    assert short.stages[1].carbon_bed_m3 / long.stages[1].carbon_bed_m3 == pytest.approx(
        9.75 / 19.75, rel=2e-3
    )


def test_what_is_stated_outranks_what_a_size_brings_in_any_order(site):
    for tries in (
        ("stage.sediment.price=31", "stage.sediment.size=4.5x20"),
        ("stage.sediment.size=4.5x20", "stage.sediment.price=31"),
    ):
        (house,) = made(site, *tries)
        assert house.stages[0].price == 31.0
        assert house.stages[0].dirt_capacity_kg > site.stages[0].dirt_capacity_kg


def test_two_housings_clog_as_one_does_at_half_the_flow(site):
    (house,) = made(site, "stage.sediment.housings=2")
    assert house.stages[0].housings == 2
    assert house.stages[0].rated_flow_m3_s == pytest.approx(2 * site.stages[0].rated_flow_m3_s, rel=1e-12)


def test_a_stage_can_be_left_out_with_its_rules_and_spare(site):
    kept, without = made(site, "stage.carbon=with,without")
    assert kept == site
    assert [stage.name for stage in without.stages] == ["sediment"]
    assert all(rule.stage != "carbon" for policy in without.policies for rule in policy.rules)
    assert "carbon" not in [spare.part for spare in without.spares]


def test_a_uv_rating_keeps_the_drop_at_its_rated_flow(site):
    (house,) = made(site, "uv.rated_flow=16 gpm")
    before = site.uv.quadratic_pa_s2_m6 * site.uv.rated_flow_m3_s**2
    assert house.uv.quadratic_pa_s2_m6 * house.uv.rated_flow_m3_s**2 == pytest.approx(before, rel=1e-12)
    assert house.uv.power_w == pytest.approx(2 * site.uv.power_w, rel=1e-12)


def test_every_combination_is_a_design(site):
    found = choices(
        site,
        [parse_try("uv.rated_flow=6 gpm,8 gpm"), parse_try("pressure_tank.volume=44 gal,86 gal,119 gal")],
        ["by the calendar", "by the readings"],
    )  # fmt: skip
    assert len(found) == 6
    assert found[1].design.label == "UV 6 gpm, tank 86 gal"
    assert [policy.name for policy in found[0].design.policies] == ["by the calendar", "by the readings"]


def test_equipment_is_its_price_over_its_life(site):
    """Cistern of half the volume: price times 0.5^0.7, the exponent of the table."""
    own = {piece.part: piece for piece in equipment(site, site)}
    (half,) = made(site, "cistern.capacity=5000 gal")
    less = {piece.part: piece for piece in equipment(half, site)}
    assert less["cistern"].price / own["cistern"].price == pytest.approx(math.sqrt(0.5) ** 1.4, rel=1e-9)
    assert own["cistern"].cost == pytest.approx(own["cistern"].price / own["cistern"].years)
    assert less["uv"] == own["uv"]


def test_a_quotation_of_the_site_outranks_the_table():
    text = 'extends = "family_house"\n[[equipment]]\npart = "uv"\nprice = 1500.0\nlife = "10 yr"\n'
    house = load_text(text, "mine.toml")
    piece = next(one for one in equipment(house, house) if one.part == "uv")
    assert (piece.price, piece.years) == (1500.0, pytest.approx(10.0))
    assert digest(house) != digest(load.load(load.DEMO))


def test_alternatives_may_stand_in_the_scenario():
    text = 'extends = "family_house"\n[[alternative]]\nkey = "uv.rated_flow"\nvalues = ["6 gpm", "8 gpm"]\n'
    house = load_text(text, "mine.toml")
    (one,) = gathered(house, [])
    assert (one.key, one.values) == ("uv.rated_flow", ("6 gpm", "8 gpm"))
    assert gathered(house, ["pump.wear=1 %/yr,2 %/yr"])[0].key == "pump.wear"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("stage.sedment.size=1,2", "no stage 'sedment'; did you mean 'sediment'?"),
        ("stage.sediment.siz=1,2", "is not a known key; did you mean 'size'?"),
        ("stage.sediment.size=3x3", "size '3x3' is not in the table of cartridges"),
        ("uv.rated_flow=8 psi", "uv.rated_flow: read '8 psi'"),
        ("stage.sediment.housings=two", "stage.sediment.housings: read 'two'"),
        ("pressure_switch.cut_in=70 psi", "cut_in is not below cut_out"),
        ("nothing", "wanted KEY=VALUE,VALUE"),
        ("uv.alarm=60 %,60 %", "a value stands twice"),
        ("pump=with,without", "only an entry of a list can be left out"),
    ],
)
def test_what_will_not_do_is_refused_in_one_line(site, line, said):
    with pytest.raises(InputError) as caught:
        made(site, line)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_nothing_to_choose_between_is_refused(site):
    with pytest.raises(InputError, match="nothing to choose between"):
        gathered(site, [])


def test_the_tank_of_one_minute_gives_a_minute(site):
    """Boyle's law written anew: drawdown of that tank over the mean of the pump's flows is 60 s."""
    psi, atmosphere = 6894.757293168361, 101325.0
    volume = wanted_tank_m3(site)
    before, low, high = (x * psi + atmosphere for x in (38.0, 40.0, 60.0))
    drawdown = volume * before * (1 / low - 1 / high)
    lift_m = 1.5 - 0.5 * 10000 * GALLON_M3 / 12.0
    flows = []
    for at in (40.0, 60.0):
        head_m = 180 * 0.3048 - lift_m - at * psi / (999.1 * 9.80665)
        flows.append(math.sqrt(head_m / ((0.45 + 0.02) * 0.3048 / GPM_M3_S**2)))
    assert drawdown / (sum(flows) / 2) == pytest.approx(60.0, rel=0.01)


def test_entries_without_a_name_are_told_apart_by_their_place_from_one_on():
    tables = {"thing": [{"x": 1}, {"x": 2}]}
    assert [value_at(tables, f"thing.{at}.x") for at in (1, 2)] == [1, 2]
    with pytest.raises(InputError, match="no thing '3'"):
        value_at(tables, "thing.3.x")
