"""The drill on its page: played from start to reveal, and nothing of the fault is sent before that."""

import re

import pytest

from sim.drill.case import drawn
from sim.drill.families import families
from sim.drill.sight import CHECKS
from sim.scenario.read import load
from tests.dashboard.driving import listening, opened, read, received, still

CASE = 3
DAY = re.compile("^Day [0-9]+; the case runs")


@pytest.fixture
def page():
    at = opened("views/drill.py", case=str(CASE))
    at.button(key="drill-begin").click().run()
    assert not at.exception
    return at


def texts(at):
    kinds = (at.markdown, at.info, at.warning, at.caption, at.header)
    return "\n".join(read(item.value) for kind in kinds for item in kind)


def turned(at, key):
    at.button(key=key).click().run()
    assert not at.exception
    return at


def test_a_case_is_played_from_start_to_reveal(page):
    truth = drawn("family_house", CASE).staged[0]
    assert "Day 120; the case runs from day 120 to 180" in texts(page)
    turned(page, "drill-A week")
    assert "Day 127;" in texts(page)
    page.radio(key="drill-kind").set_value("Look at something").run()
    turned(page, "drill-look-gauges")
    assert "drop over sediment" in texts(page)
    page.radio(key="drill-kind").set_value("Name a cause").run()
    assert page.button(key="drill-note").disabled
    page.selectbox(key="drill-cause").set_value(truth.name).run()
    turned(page, "drill-note")
    page.radio(key="drill-kind").set_value("Do something").run()
    page.selectbox(key="drill-act").set_value("change cartridge").run()
    assert page.button(key="drill-do").disabled  # until an order is chosen
    page.radio(key="drill-order").set_value("relieve, unplug, open").run()
    turned(page, "drill-do")
    assert "Done: change cartridge, sediment." in texts(page)
    turned(page, "drill-reveal")
    said = texts(page)
    assert f"It was: {truth.name}, from day {truth.day} on." in said
    assert "The last was right" in said
    assert page.get("plotly_chart")


@pytest.mark.parametrize(("units", "unit", "foreign"), [("US", "gal", "kPa|m"), ("SI", "L", "psi|ft|gal")])
def test_a_case_is_told_in_the_units_that_were_chosen(units, unit, foreign):
    at = opened("views/drill.py", case=str(CASE), units=units)
    at.button(key="drill-begin").click().run()
    assert "drop over sediment" in texts(at)
    assert not re.search(rf"[0-9] ({foreign})\b", texts(at))
    turned(at, "drill-reveal")
    assert re.search(rf"Below the dose target from day [0-9]+ on[^:]*: [0-9.,]+ {unit} ", texts(at))
    assert f"below target, {unit}" in at.dataframe[0].value.columns


def test_how_the_house_works_is_told_before_and_while_it_is_played():
    at = opened("views/drill.py", case=str(CASE), site="cottage")
    for _ in range(2):
        told = next(one for one in at.expander if one.label.startswith("How this house works"))
        said = read(told.markdown[0].value)
        assert all(name in said for name in load.load("cottage").stage_names)
        assert all(f"- {what}: " in said for what in CHECKS)
        at.button(key="drill-begin").click().run()


def test_every_act_can_be_chosen_and_says_what_it_takes(page):
    page.radio(key="drill-kind").set_value("Do something").run()
    acts = page.selectbox(key="drill-act").options
    assert {"order a tanker", "repair pump", "change cartridge"} <= set(acts)
    for act in acts:
        page.selectbox(key="drill-act").set_value(act).run()
        assert not page.exception, act
        assert re.search(r"^Takes [0-9]", texts(page), re.MULTILINE), act


def test_a_cause_that_was_chosen_stays_while_something_else_is_looked_at(page):
    page.radio(key="drill-kind").set_value("Name a cause").run()
    page.selectbox(key="drill-cause").set_value("old lamp").run()
    page.slider(key="drill-sure").set_value(80).run()
    page.radio(key="drill-kind").set_value("Look at something").run()
    turned(page, "drill-look-gauges")
    page.radio(key="drill-kind").set_value("Name a cause").run()
    assert page.selectbox(key="drill-cause").value == "old lamp"
    assert page.slider(key="drill-sure").value == 80


def test_opening_at_pressure_ends_the_case(page):
    page.radio(key="drill-kind").set_value("Do something").run()
    page.selectbox(key="drill-act").set_value("change cartridge").run()
    page.radio(key="drill-order").set_value("open").run()
    turned(page, "drill-do")
    assert "Stopped: it was opened with water at pressure" in texts(page)
    turned(page, "drill-reveal")
    assert "Relieve while lit" in texts(page)


# Press, and press once more as soon as the page is drawn for the first press: each time the button that
# stands there then, as a finger does; the one before may have been replaced.
AGAIN_WHILE_DRAWN = """() => {
  const app = document.querySelector('[data-testid=stApp]');
  const buttons = () => [...document.querySelectorAll('button')];
  const press = () => buttons().find(one => one.innerText.trim() === 'A day').click();
  new MutationObserver((_, self) => {
    if (app.dataset.testScriptState === 'running') { self.disconnect(); press(); }
  }).observe(app, {attributes: true});
  press();
}"""


@pytest.mark.browser
def test_of_two_fast_presses_of_time_none_is_lost(visit):
    tab = visit()
    tab.goto(f"/drill?case={CASE}")
    tab.get_by_role("button", name="Begin this case").click()
    tab.get_by_text(re.compile("^Day 120; the case runs")).wait_for()
    tab.get_by_role("button", name="A day", exact=True).wait_for()
    still(tab)
    tab.evaluate(AGAIN_WHILE_DRAWN)
    tab.get_by_text(re.compile("^Day 122; the case runs")).wait_for()


def unescaped(sent):
    """What was sent, without the backslashes that keep signs from being read as markup."""
    return received(sent).replace(b"\\", b"")


def seed_of(name):
    """The first case number that draws a fault."""
    return next(seed for seed in range(1000) if drawn(load.DEMO, seed).staged[0].name == name)


@pytest.mark.browser
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[] if at % 8 == 0 else pytest.mark.long) for at, name in enumerate(families())],
)
def test_nothing_of_the_fault_reaches_the_browser_before_the_reveal(visit, name):
    """Every frame of the websocket, the address and the page, grepped for the fault by name, effect, and
    what tells it.

    The names of all causes stand in the list to choose from, which is asked for in none of these steps.
    """
    page, case = visit(), seed_of(name)
    sent = listening(page)
    page.goto(f"/drill?case={case}")
    page.get_by_role("button", name="Begin this case").click()
    truth = drawn(load.DEMO, case).staged[0]
    while int(page.get_by_text(DAY).inner_text().split(";")[0].removeprefix("Day ")) <= truth.day:
        was = page.get_by_text(DAY).inner_text()
        still(page)
        page.get_by_role("button", name="Until something happens").click()
        page.get_by_text(was, exact=True).wait_for(state="hidden")
    still(page)
    page.get_by_text("Look at something").click()
    for what in CHECKS:
        still(page)
        page.get_by_role("button", name=re.compile(f"^{what.capitalize()} [(]")).click()
    page.get_by_text(re.compile(": lamp hours ")).first.wait_for()
    page.get_by_text("Do something").click()
    page.get_by_role("button", name="Do it").wait_for()
    raw, found = unescaped(sent), families()[name]
    assert b"drop over sediment" in raw
    for text in (name, found.effect, found.look):
        assert text.encode() not in raw, text
        assert text not in page.content(), text
        assert text.replace(" ", "+") not in page.url
    page.get_by_role("button", name="Done: show what was true").click()
    page.get_by_text("It was:").wait_for()
    assert name.encode() in unescaped(sent)
