"""A stage, a task and a slip that one site file defines are on every page; no page knows their names."""

from pathlib import Path

from sim.constants import DAY_S
from sim.scenario.read.load import load
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.study.skip.skip_words import answer
from sim.study.skip.skipping import ends, moment_s, skipping
from tests.dashboard.driving import begun, read, settled, standing_on

SITE = Path(__file__).parents[1] / "own_house.toml"
TASK, LABEL = "rinse screen", "rinse screen: screen"
CALENDAR, READINGS = "by the calendar", "by the readings"


def opened(page):
    at = begun().run()
    at.file_uploader(key="toml").upload(SITE.name, SITE.read_bytes(), "text/plain").run()
    standing_on(at, f"views/{page}.py").run()
    assert not at.exception
    return at


def words(at):
    return "\n".join(read(item.value) for item in [*at.markdown, *at.caption])


def rules_of(at):
    return at.session_state["chosen_site"].scenario.policies[0].rules


def test_the_house_page_offers_what_the_stage_says():
    at = opened("house")
    at.session_state["question-Which filters?"] = True
    at.run()
    assert at.text_input(key="value-stage[screen].rating").value == "50 um"
    assert at.text_input(key="value-stage[screen].age_limit").value == "6 month"  # of the stage it is like


def test_the_maintenance_page_lists_the_rules_and_offers_the_task():
    at = opened("maintenance")
    assert "Rinse screen (screen): every 2 months, by owner" in words(at)
    at.button(key="add-rule").click().run()
    at.selectbox(key="rule-task").set_value(TASK).run()
    assert at.selectbox(key="rule-stage").options == ["screen", "sediment", "carbon"]
    at.text_input(key="rule-every").set_value("20 d").run()
    assert (rules_of(at)[-1].label, rules_of(at)[-1].every_s) == (LABEL, 20 * DAY_S)
    at.selectbox(key="rule-when").set_value("reading").run()
    assert rules_of(at)[-1].readings.keys() == {"drop_above"}
    assert not at.exception


def test_the_page_offers_no_rule_that_can_never_fall_due():
    at = opened("maintenance")
    at.button(key="add-rule").click().run()
    at.selectbox(key="rule-task").set_value("take sample").run()
    assert at.selectbox(key="rule-when").options == ["by the calendar", "by a reading"]
    at.selectbox(key="rule-task").set_value("repair pump").run()
    assert at.selectbox(key="rule-when").options == ["by the calendar", "when it fails"]


def test_the_skip_page_tells_of_the_task():
    at = opened("skipped_work")
    assert {TASK, LABEL} <= set(at.multiselect(key="tasks").options)
    at.multiselect(key="tasks").set_value([TASK]).run()
    for key, number in {"from": 2, "years": 1, "runs": 2, "seed": 4}.items():
        at.number_input(key=key).set_value(number)
    at.run()
    settled(at.button(key="go-skip").click().run())
    scenario = load(SITE)
    kept = scenario.policies[0]
    left = skipping(kept, [TASK], moment_s("month 2", scenario.start, 1, "from"), None)
    assert f"skipping '{TASK}'" in words(at)
    rows = study(Design("house", scenario, (kept, left)), Inputs(4, 1), 2).rows
    assert answer(ends(rows, kept.name, left.name), scenario, left) in words(at)


def test_the_compare_page_shows_the_policies_and_tells_of_a_stage_never_changed():
    at = opened("compare")
    at.multiselect(key="policies").set_value([CALENDAR, READINGS])
    at.number_input(key="years").set_value(1)
    at.number_input(key="runs").set_value(2)
    at.run()
    settled(at.button(key="go").click().run())
    assert f"No rule of '{READINGS}' ever changes the cartridge of 'screen'." in words(at)
    shown = next(item.value for item in at.dataframe if "bought water" in item.value.columns)
    assert list(shown["policy"]) == [CALENDAR, READINGS]


def test_the_history_page_has_a_box_for_the_stage_and_the_task_in_its_diary():
    at = settled(opened("history"))
    html = next(item.proto.body for item in at.get("html") if "train" in item.proto.body)
    assert html.index("Screen") < html.index("Sediment") < html.index("Carbon")


def test_the_intervals_page_can_tune_it():
    at = opened("intervals")
    at.selectbox(key="tuned").set_value(CALENDAR).run()
    assert LABEL in at.multiselect(key=f"only-{CALENDAR}").options
