"""The pages for changing a house and its upkeep: numbers read off them, and what they do to the question."""

import pytest

from dashboard.change.address import encoded
from dashboard.change.changes import Changes
from dashboard.change.draft import EDITS
from dashboard.change.value_groups import QUESTIONS
from dashboard.pages import PAGES
from sim.report.figures.comparison_figures import cost_means
from sim.scenario.read import load
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.units import GALLON_M3, PSI_PA
from tests.dashboard.driving import begun, settled, standing_on
from tests.plain_words import half_digit

HOUSE, CARE, COMPARE = "views/house.py", "views/maintenance.py", "views/compare.py"


def opened(page=COMPARE, **state):
    at = begun(page, **state)
    if page == HOUSE:
        for question in QUESTIONS:
            at.session_state[f"question-{question}"] = True
    at.run()
    assert not at.exception
    return at


def put(at, path, value):
    at.text_input(key=f"value-{path}").set_value(value).run()
    assert not at.exception
    return at


def differs(at):
    """Return what the page says was changed: key or words, was, is."""
    found = [item.value for item in at.markdown if "  \nwas: " in item.value]
    return [tuple(part.replace("\\", "") for part in item.split("  \n")) for item in found]


def scenario(at):
    return at.session_state["chosen_site"].scenario


@pytest.fixture
def house():
    return opened(HOUSE)


def test_values_show_in_the_units_chosen_and_change_with_them(house):
    assert house.text_input(key="value-pressure_switch.cut_in").value == "40 psi"
    house.button_group(key="units").set_value("SI").run()
    number, unit = house.text_input(key="value-pressure_switch.cut_in").value.split()
    assert (float(number), unit) == (pytest.approx(40 * PSI_PA / 1e3, rel=1e-5), "kPa")
    number, unit = house.text_input(key="value-cistern.capacity").value.split()
    assert (float(number), unit) == (pytest.approx(10000 * GALLON_M3 * 1e3, rel=1e-5), "L")


def test_a_changed_value_is_listed_and_goes_into_the_question(house):
    put(house, "cistern.capacity", "12000")
    assert differs(house) == [
        ("1. **Cistern capacity** (cistern.capacity)", "was: 10000 gal", "is: 12000 gal"),
    ]  # fmt: skip
    assert scenario(house).cistern.capacity_m3 == pytest.approx(12000 * GALLON_M3)
    house.button_group(key="units").set_value("SI").run()
    assert differs(house)[0][1:] == ("was: 37854.1 L", "is: 45424.9 L")
    assert scenario(house).cistern.capacity_m3 == pytest.approx(12000 * GALLON_M3, rel=1e-14)


def test_each_kind_of_widget_changes_its_value(house):
    house.toggle(key="value-uv.shutoff_valve").set_value(True).run()
    house.selectbox(key="value-rain.climate").set_value("mediterranean").run()
    house.number_input(key="value-people.technicians").set_value(2).run()
    house.number_input(key="value-prices.electricity_kwh").set_value(0.31).run()
    put(house, "stage[carbon].rating", "1 um")
    got = scenario(house)
    assert got.uv.shutoff_valve
    assert got.rain.climate == "mediterranean"
    assert got.people.technicians == 2
    assert got.prices.electricity_kwh == 0.31
    assert got.stages[1].rating_m == pytest.approx(1e-6)
    assert len(differs(house)) == 5


def labels(at):
    return {item.label for item in (*at.text_input, *at.number_input)}


def test_what_the_house_has_not_is_added_and_taken_away_again(house):
    assert house.text_input(key="value-uv.restrictor").value == ""
    assert "Restrictor, drop at its flow" not in labels(house)
    put(house, "uv.restrictor", "7 gpm")
    assert scenario(house).uv.restrictor_m3_s == pytest.approx(7 * GALLON_M3 / 60)
    assert differs(house)[0][1:] == ("was: none", "is: 7 gpm")
    put(house, "uv.restrictor_drop", "18")
    house.selectbox(key="value-uv.restrictor_kind").set_value("orifice").run()
    got = scenario(house).uv
    assert (got.restrictor_drop_pa, got.restrictor_kind) == (pytest.approx(18 * PSI_PA), "orifice")
    code = house.query_params[EDITS]
    assert scenario(opened(edits=code)) == scenario(house)
    house.button(key="put-back-all").click().run()
    put(house, "cistern.mains_flow", "3 gpm")
    put(house, "cistern.mains_until", "30")
    assert "Mains water, a m3" in labels(house)
    assert scenario(house).cistern.mains_until == pytest.approx(0.3)
    put(house, "cistern.mains_flow", "")
    assert scenario(house).cistern.mains_m3_s is None
    assert [words for words, *_ in differs(house)] == ["1. **Mains stop at this fill** (cistern.mains_until)"]


def test_a_limit_of_alarm_hours_is_set_and_taken_away(house):
    house.selectbox(key="site").set_value("forest_house").run()
    limit = house.number_input(key="value-goals.limit_alarm_h")
    assert limit.value == scenario(house).goals.limit_alarm_h > 0.0
    limit.set_value(None).run()
    assert scenario(house).goals.limit_alarm_h is None
    assert differs(house)[0][2] == "is: none"
    house.number_input(key="value-goals.limit_alarm_h").set_value(250).run()
    assert scenario(house).goals.limit_alarm_h == 250.0


def test_a_pump_of_constant_pressure_and_a_second_one_are_set(house):
    assert "Pump stops below this flow" not in labels(house)
    house.selectbox(key="value-pump.speed").set_value("constant pressure").run()
    assert house.text[0].value.startswith("site.toml: pump.speed: a pump of constant pressure holds")
    put(house, "pressure_switch.cut_in", "50 psi")
    put(house, "pump.least_flow", "0.8 gpm")
    house.toggle(key="value-pump.standby").set_value(True).run()
    put(house, "pump.standby_after", "2 min")
    got = scenario(house).pump
    assert got.holds
    assert got.standby
    assert got.least_flow_m3_s == pytest.approx(0.8 * GALLON_M3 / 60)
    assert got.standby_after_s == 120.0


def test_two_uv_units_and_a_cistern_that_feeds_by_gravity_are_set(house):
    assert not [item for item in house.selectbox if item.key == "value-uv.arranged"]
    house.number_input(key="value-uv.units").set_value(2).run()
    house.selectbox(key="value-uv.arranged").set_value("parallel").run()
    got = scenario(house).uv
    assert (got.units, got.arranged, got.lanes) == (2, "parallel", 2)
    house.number_input(key="value-uv.units").set_value(3).run()
    assert house.text[0].value.startswith("site.toml: uv.units: read 3; wanted at most 2")
    house.button(key="put-back-all").click().run()
    house.toggle(key="value-cistern.gravity_feed").set_value(True).run()
    assert house.text[0].value.startswith("site.toml: pump.height: the gauge stands 1.5 m above the floor")
    assert not labels(house) & {"Pump, shut-off head", "Pressure switch, cut-in", "Pressure tank, volume"}
    put(house, "pump.height", "-30 ft")
    assert scenario(house).cistern.gravity_feed
    assert scenario(house).pump.height_m == pytest.approx(-9.144)
    standing_on(house, "views/today.py").run()
    assert not house.exception
    assert any("cistern.gravity_feed: read true" in item.value for item in house.text)


@pytest.mark.parametrize(
    "changes",
    [
        {("cistern", "gravity_feed"): True, ("pump", "height"): "-12 m"},
        {("uv", "units"): 2, ("uv", "arranged"): "parallel"},
    ],
    ids=["gravity", "two UV units"],
)
def test_every_page_opens_for_a_train_without_a_pump_and_one_with_two_units(changes):
    at = opened(HOUSE, edits=encoded(Changes(changes), "f" * 64))
    assert scenario(at).cistern.gravity_feed == (("cistern", "gravity_feed") in changes)
    for file, _ in PAGES:
        standing_on(at, f"views/{file}").run()
        assert not at.exception, file
    standing_on(at, "views/today.py").run()
    assert any(item.value.startswith(("cistern.gravity_feed: read", "uv.units: read")) for item in at.text)


def test_one_change_and_all_can_be_put_back(house):
    put(house, "roof.area", "100 m2")
    put(house, "uv.alarm", "55")
    house.button(key="put-back-1").click().run()
    assert [words for words, *_ in differs(house)] == ["1. **Alarm below this reading** (uv.alarm)"]
    assert scenario(house).uv.alarm == pytest.approx(0.55)
    house.button(key="put-back-all").click().run()
    assert differs(house) == []
    assert scenario(house) == load.load(load.DEMO)
    assert EDITS not in house.query_params


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("pressure_switch.cut_in", "70 psi", "site.toml: pressure_switch: cut_in is not below cut_out"),
        ("people.adherence", "140 %", "site.toml: people.adherence: read '140 %'; wanted at most 1"),
        ("pump.shutoff_head", "9 <b>", "site.toml: pump.shutoff_head: read '9 <b>'"),
        ("uv.restrictor", "7 psi", "site.toml: uv.restrictor: read '7 psi'"),
        ("cistern.mains_flow", "0 gpm", "site.toml: cistern.mains_flow: read '0 gpm'; wanted above 0"),
    ],
)
def test_a_refused_value_gives_the_line_of_the_command_line_and_can_be_put_right(house, path, value, said):
    put(house, path, value)
    assert [item.value for item in house.text] == [house.text[0].value]
    assert house.text[0].value.startswith(said)
    assert "\n" not in house.text[0].value
    assert house.session_state["chosen_site"] is None
    house.button(key="put-back-1").click().run()
    assert len(house.text) == 0
    assert scenario(house) == load.load(load.DEMO)


def test_a_refused_value_stops_the_comparison_and_not_the_form(house):
    put(house, "pressure_switch.cut_in", "70 psi")
    standing_on(house, COMPARE).run()
    assert not house.exception
    assert len(house.button(key="put-back-1").label) > 0
    assert not [item for item in house.button if item.key == "go"]


def test_the_address_brings_the_changes_to_a_colleague(house):
    put(house, "roof.area", "100 m2")
    code = house.query_params[EDITS]
    other = opened(edits=code)
    assert scenario(other) == scenario(house)
    assert other.session_state["chosen_site"].digest == house.session_state["chosen_site"].digest
    assert len(differs(other)) == 1


def test_a_damaged_address_is_refused_in_one_line_with_a_way_on():
    at = opened(edits="x" * 30)
    assert at.text[0].value.startswith("address: edits: is damaged")
    assert not [item for item in at.button if item.key == "go"]
    at.button(key="forget-address").click().run()
    assert not at.exception
    assert scenario(at) == load.load(load.DEMO)
    assert EDITS not in at.query_params


def test_changes_made_on_another_edition_of_the_house_say_so():
    at = opened(edits=encoded(Changes({("roof", "area"): "100 m2"}), "f" * 64))
    assert any("another edition of this house" in item.value for item in at.warning)
    assert scenario(at).roof.area_m2 == 100.0


def test_each_house_keeps_its_own_changes(house):
    put(house, "roof.area", "100 m2")
    house.selectbox(key="site").set_value("cottage").run()
    assert scenario(house) == load.load("cottage")
    house.selectbox(key="site").set_value(load.DEMO).run()
    assert scenario(house).roof.area_m2 == 100.0


def test_an_uploaded_house_is_changed_but_its_changes_do_not_fit_an_address(house):
    mine = b'extends = "cottage"\n[house]\npeople = 3\n'
    house.file_uploader(key="toml").upload("mine.toml", mine, "text/plain").run()
    put(house, "roof.area", "100 m2")
    assert scenario(house).roof.area_m2 == 100.0
    assert scenario(house).house.people == 3.0
    assert EDITS not in house.query_params
    assert any("cannot be in an address" in item.value for item in house.caption)


def rules_of(at, name="by the calendar"):
    return next(policy for policy in scenario(at).policies if policy.name == name).rules


@pytest.fixture
def care():
    return opened(CARE)


def test_a_rule_is_changed_and_listed(care):
    care.text_input(key="rule-every").set_value("6 wk").run()
    assert rules_of(care)[0].every_s == 42 * 86400.0
    assert differs(care) == [
        (
            "1. **policy[by the calendar].rule[1]**",
            "was: change cartridge (sediment): every 4 months, by owner",
            "is: change cartridge (sediment): every 6 weeks, by owner",
        )
    ]


def test_a_rule_goes_by_readings_instead_in_the_units_chosen(care):
    care.selectbox(key="rule-when").set_value("reading").run()
    assert care.text_input(key="policy-reading_every").value == "14 d"
    assert rules_of(care)[0].drop_above_pa == pytest.approx(10 * PSI_PA)
    care.button_group(key="units").set_value("SI").run()
    assert care.text_input(key="rule-drop_above").value == "68.9476 kPa"
    care.text_input(key="rule-drop_above").set_value("80").run()
    assert rules_of(care)[0].drop_above_pa == pytest.approx(80e3)
    care.selectbox(key="rule-signal").set_value("uv_below").run()
    assert rules_of(care)[0].uv_below == pytest.approx(0.7)
    care.button(key="put-back-all").click().run()
    assert scenario(care) == load.load(load.DEMO)


def test_another_task_takes_what_goes_with_it(care):
    care.selectbox(key="rule-task").set_value("repair pump").run()
    rule = rules_of(care)[0]
    assert (rule.task, rule.stage, rule.by) == ("repair pump", None, "technician")
    care.selectbox(key="rule-by").set_value("owner").run()
    assert rules_of(care)[0].by == "technician"
    care.selectbox(key="rule-task").set_value("change cartridge").run()
    care.selectbox(key="rule-stage").set_value("carbon").run()
    assert rules_of(care)[0].stage == "carbon"


def test_rules_are_added_and_removed(care):
    care.button(key="add-rule").click().run()
    assert len(rules_of(care)) == 17
    assert care.selectbox(key="rule").value == 16
    care.text_input(key="rule-every").set_value("10 d").run()
    assert rules_of(care)[16].every_s == 864000.0
    care.selectbox(key="rule").set_value(0).run()
    care.button(key="remove-rule").click().run()
    assert [rule.stage for rule in rules_of(care)[:2]] == ["carbon", None]
    assert {(was, now) for _, was, now in differs(care)} == {
        ("was: not there", "is: wipe sleeve: every 10 days, by owner"),
        ("was: change cartridge (sediment): every 4 months, by owner", "is: not there"),
    }


def test_what_belongs_to_the_whole_policy_is_changed(care):
    care.text_input(key="policy-technician_every").set_value("6 month").run()
    care.text_input(key="policy-bundle").set_value("30").run()
    care.toggle(key="policy-heeds_alarm").set_value(False).run()
    policy = scenario(care).policies[0]
    assert policy.technician_every_s == pytest.approx(365.25 * 86400 / 2)
    assert policy.bundle_s == 30 * 86400.0
    assert not policy.heeds_alarm
    care.text_input(key="policy-technician_every").set_value("").run()
    assert scenario(care).policies[0].technician_every_s is None
    assert len(differs(care)) == 2


def test_a_reading_rule_without_readings_is_refused_in_one_line(care):
    care.selectbox(key="care").set_value("by the readings").run()
    care.text_input(key="policy-reading_every").set_value("").run()
    assert care.text[0].value.startswith("site.toml: policy[by the readings]: reading_every is missing")
    assert not care.exception


def test_a_policy_is_copied_and_removed(care):
    care.button(key="copy").click().run()
    assert care.warning[0].value == "The copy wants a name."
    care.text_input(key="copy-name").set_value("nothing done").run()
    care.button(key="copy").click().run()
    assert care.warning[0].value == "There is already a way of this name."
    care.text_input(key="copy-name").set_value("mine <b>").run()
    care.button(key="copy").click().run()
    assert care.selectbox(key="care").value == "mine <b>"
    assert [policy.name for policy in scenario(care).policies][-1] == "mine <b>"
    care.selectbox(key="care").set_value("nothing done").run()
    care.button(key="remove").click().run()
    assert not care.exception
    names = [policy.name for policy in scenario(care).policies]
    assert names[-2:] == ["as things fail", "mine <b>"]
    standing_on(care, COMPARE).run()
    assert care.multiselect(key="policies").value == names


def test_a_chosen_policy_that_is_removed_leaves_the_question():
    at = opened(policies=["nothing done", "as things fail"])
    at.switch_page(CARE).run()
    at.selectbox(key="care").set_value("nothing done").run()
    at.button(key="remove").click().run()
    standing_on(at, COMPARE).run()
    assert not at.exception
    assert "nothing done" not in at.multiselect(key="policies").options
    assert "nothing done" not in at.multiselect(key="policies").value


def test_the_comparison_of_a_changed_house_is_that_of_its_file(house):
    put(house, "roof.area", "100 m2")
    house.switch_page(CARE).run()
    house.text_input(key="rule-every").set_value("6 wk").run()
    standing_on(house, COMPARE).run()
    house.number_input(key="years").set_value(1).run()
    house.number_input(key="runs").set_value(2).run()
    at = settled(house.button(key="go").click().run())
    written = load.load_text(at.session_state["chosen_site"].toml, "site.toml")
    rows = study(Design("house", written, written.policies), Inputs(1, 1), 2).rows
    shown = next(item.value for item in at.dataframe if "bought water" in item.value.columns)
    expected = cost_means(rows)["all"].to_dict()
    found = shown.set_index("policy")["all"].to_dict()
    assert set(found) == set(expected)
    for name, cost in expected.items():
        assert found[name] == pytest.approx(cost, rel=0, abs=half_digit(cost))
    plain = load.load(load.DEMO)
    other = study(Design("house", plain, plain.policies), Inputs(1, 1), 2).rows
    assert cost_means(other)["all"].to_dict() != pytest.approx(expected, abs=0.5)
