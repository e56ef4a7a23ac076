"""The drill on its page: played from start to reveal, and nothing of the fault is sent before that."""

import re

import pytest

from sim.drill.case import drawn
from sim.drill.families import families
from tests.dashboard.driving import opened, read

CASE = 3


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
    turned(page, "drill-look")
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
    assert "Done: change cartridge." in texts(page)
    turned(page, "drill-reveal")
    said = texts(page)
    assert f"It was: {truth.name}, from day {truth.day} on." in said
    assert "The last was right" in said
    assert page.get("plotly_chart")


def test_opening_at_pressure_ends_the_case(page):
    page.radio(key="drill-kind").set_value("Do something").run()
    page.selectbox(key="drill-act").set_value("change cartridge").run()
    page.radio(key="drill-order").set_value("open").run()
    turned(page, "drill-do")
    assert "Stopped: it was opened with water at pressure" in texts(page)
    turned(page, "drill-reveal")
    assert "Relieve while lit" in texts(page)


@pytest.mark.browser
def test_of_two_fast_presses_of_time_none_is_lost(visit):
    tab = visit()
    tab.goto(f"/drill?case={CASE}")
    tab.get_by_role("button", name="Begin this case").click()
    tab.get_by_role("button", name="A day", exact=True).evaluate(
        "button => {button.click(); setTimeout(() => button.click(), 150);}"
    )
    tab.get_by_text(re.compile("^Day 122; the case runs")).wait_for()


@pytest.mark.browser
@pytest.mark.parametrize("case", [3, 8])
def test_nothing_of_the_fault_reaches_the_browser_before_the_reveal(visit, case):
    """Every frame of the websocket, the address and the page, grepped for the fault's name, effect and day.

    The names of all causes stand in the list to choose from, which is asked for in none of these steps.
    """
    page, sent = visit(), []

    def keep(frame):
        sent.append(frame)

    page.on("websocket", lambda socket: socket.on("framereceived", keep))
    page.goto(f"/drill?case={case}")
    page.get_by_role("button", name="Begin this case").click()
    page.get_by_role("button", name="Until something happens").click()
    page.get_by_text("So far, newest first").wait_for()
    page.get_by_text("Look at something").click()
    page.get_by_role("button", name=re.compile("^Look [(]")).click()
    page.get_by_text("drop over sediment").first.wait_for()
    truth = drawn("family_house", case).staged[0]
    found = families()[truth.name]
    raw = b"\n".join(one if isinstance(one, bytes) else one.encode() for one in sent)
    assert len(raw) > 1000
    assert b"drop over sediment" in raw
    for text in (truth.name, found.effect, found.look):
        assert text.encode() not in raw, text
        assert text not in page.content(), text
        assert text.replace(" ", "+") not in page.url
    page.get_by_role("button", name="Done: show what was true").click()
    page.get_by_text("It was:").wait_for()
    assert truth.name.encode() in b"\n".join(one if isinstance(one, bytes) else one.encode() for one in sent)
