"""Tables of the design sheet: what each says of a changed house, and nothing that does not concern it."""

from datetime import date

import pytest

from sim.scenario.read.load import load
from sim.study.sheet.contents import SITE, inputs, items, tags, work
from sim.study.visits.visits import OWNER, TECHNICIAN, Job, Visit
from tests.changed_site import site


@pytest.fixture(scope="module")
def base():
    return load("family_house")


def box(scenario, tag):
    return next((dict(lines) for name, lines, _ in tags(scenario, "us") if name.startswith(tag)), None)


def keys(scenario, base):
    return [key for key, *_ in inputs(scenario, base, "us")]


# --- the year of work ---
def test_work_counts_each_task_of_each_person_and_dates_the_first(base):
    days = [date(2027, 2, 1), date(2027, 4, 1), date(2027, 6, 1)]
    wipe = [Visit(day, OWNER, (Job("wipe sleeve", "", day),)) for day in days[:2]]
    both = Visit(
        days[2], OWNER, (Job("wipe sleeve", "", days[2]), Job("change cartridge", "carbon", days[2]))
    )
    paid = Visit(days[1], TECHNICIAN, (Job("wipe sleeve", "", days[1]),))
    rows = work(base, [wipe[0], paid, wipe[1], both])
    assert [(task, who, count, first) for task, who, count, _, first in rows] == [
        ("wipe sleeve", OWNER, "3", "2027-02-01"),
        ("wipe sleeve", TECHNICIAN, "1", "2027-04-01"),
        ("change cartridge: carbon", OWNER, "1", "2027-06-01"),
    ]
    assert float(rows[0][3]) > 0.0


# --- what is bought ---
def test_cartridges_cost_what_those_of_all_housings_do(base):
    bought = {part: (price, life) for part, price, life, _ in items(base)}
    assert bought["cartridge of sediment"] == (f"{base.stages[0].price:g}", "by the plan")
    doubled = {part: price for part, price, *_ in items(site(stage__sediment__housings=2))}
    assert float(doubled["cartridge of sediment"]) == 2.0 * base.stages[0].price


def test_a_price_of_the_sites_own_is_not_called_invented(base):
    assert {said for *_, said in items(base)} == {"invented", "as the site has it"}


# --- parts by tag ---
def test_parts_stand_in_the_order_of_the_water(base):
    names = [name.split()[0] for name, _, _ in tags(base, "us")]
    assert names == ["R1", "C1", "P1", "V1", "F1", "F2", "U1", "H1"]
    assert box(base, "F1") == {"size, inches": "4.5x10", "rating": "20 um"}
    assert box(base, "U1")["beside it"] == "no shut-off valve"
    assert "mains, air gap" not in box(base, "C1")


def test_a_part_that_is_added_has_its_tag_and_its_lines():
    assert box(site(stage__carbon__housings=2), "F2")["size, inches"] == "2 x 4.5x20"
    assert box(site(uv__shutoff_valve=True), "U1")["beside it"] == "shut-off valve"
    held = box(site(uv__restrictor="6 gpm"), "O1")
    assert held["flow"] == "6.00 gpm" and held["kind"]
    assert box(site(), "O1") is None
    two = box(site(uv__units=2, uv__arranged="series"), "U1, U2 UV units")
    assert two["arranged"] == "in series" and two["rated flow of each"] == "8.00 gpm"


# --- inputs and what they rest on ---
def test_an_input_of_the_sites_own_is_told_from_one_of_the_base(base):
    changed = site(house__people=5)
    told = {key: (value, why) for key, value, why in inputs(changed, base, "us")}
    assert told["house.people"] == ("5", SITE)
    assert told["house.altitude"][1].startswith("as in base.toml [")
    assert all(why.startswith("as in base.toml") for _, _, why in inputs(base, base, "us"))


def test_stages_stand_before_the_unit_and_after_the_tank(base):
    found = keys(base, base)
    assert found.index("pressure_tank.precharge") < found.index("stage[sediment].size")
    assert found.index("stage[carbon].terminal_rise") < found.index("uv.dose_at_rating")


@pytest.mark.parametrize(
    ("changes", "there"),
    [
        ({}, set()),
        ({"uv__units": 2, "uv__arranged": "parallel"}, {"uv.units", "uv.arranged"}),
        ({"uv__restrictor": "6 gpm"}, {"uv.restrictor_kind", "uv.restrictor_drop"}),
        ({"cistern__mains_flow": "5 gpm"}, {"cistern.mains_flow", "cistern.mains_below"}),
        ({"pump__standby": True}, {"pump.standby"}),
    ],
)
def test_inputs_that_do_not_concern_a_house_are_left_out(base, changes, there):
    found = set(keys(site(**changes), base))
    all_of = {
        *("uv.units", "uv.arranged", "uv.restrictor_kind", "uv.restrictor_drop"),
        *("cistern.mains_flow", "cistern.mains_below", "pump.standby", "pump.speed"),
    }
    assert found & all_of == there
