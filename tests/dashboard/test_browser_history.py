"""One history in a real browser: units, the slider of the day, its address, its files."""

import re

import pandas as pd
import pint
import pytest

from sim.outcome.frames import frames
from sim.scenario.read import load
from sim.twin import run as twin
from tests.dashboard.driving import listening, received

pytestmark = pytest.mark.browser
QUESTION = "/history?years=1&seed=3&day=60"


def value(page, box, label):
    """Words beside a label in a box of the train."""
    found = page.locator("ol.train > li", has=page.get_by_role("heading", name=box))
    label_of = found.locator("dt", has_text=re.compile(f"^{label}$"))
    return label_of.locator("xpath=following-sibling::dd[1]").inner_text()


def opened(page, address=QUESTION):
    page.goto(address)
    page.locator("ol.train").wait_for()
    return page


def test_a_day_has_the_steps_of_the_run_its_slider_moves_the_train_and_units_change_its_words(page, fetched):
    """Each opening draws two figures: what is looked at in one day is looked at in one visit."""
    opened(page)
    has_the_steps_of_the_run(page, fetched)
    shows_the_same_pressure_in_both_units(page)
    page.get_by_role("radio", name="US").click()
    page.locator("dd", has_text="psi").first.wait_for()
    is_moved_by_the_slider(page)


def shows_the_same_pressure_in_both_units(page):
    unit = pint.UnitRegistry()
    shown = re.fullmatch(r"([\d.]+) psi to ([\d.]+) psi", value(page, "Pressure tank", "of the day"))
    assert shown
    low_psi, high_psi = (float(number) for number in shown.groups())
    page.get_by_role("radio", name="SI").click()
    page.locator("dd", has_text="kPa").first.wait_for()
    shown = re.fullmatch(r"([\d.]+) kPa to ([\d.]+) kPa", value(page, "Pressure tank", "of the day"))
    low, high = (float(number) for number in shown.groups())
    for psi, kpa in ((low_psi, low), (high_psi, high)):
        expected = unit.Quantity(psi, "psi").to("kPa").magnitude
        margin = 0.5 + unit.Quantity(0.05, "psi").to("kPa").magnitude  # last digits shown
        assert kpa == pytest.approx(expected, abs=margin)


def is_moved_by_the_slider(page):
    assert "The train at 07:00:00" in page.get_by_text(re.compile("^The train at")).inner_text()
    was = value(page, "Pressure tank", "gauge")
    page.get_by_role("button", name="Next draw").click()
    page.get_by_text("The train at 07:00:00").wait_for(state="hidden")
    page.locator("dd", has_text="no tap open").wait_for(state="hidden")
    assert float(value(page, "House", "flow").split()[0]) > 0
    assert value(page, "UV", "dose at this flow").endswith("mJ/cm2")
    slider = page.get_by_role("slider", name="Time of day")
    slider.focus()
    for _ in range(10):  # a draw first moves the gauge by less than it shows
        if value(page, "Pressure tank", "gauge") != was:
            break
        slider.press("ArrowRight")
        page.wait_for_timeout(500)
    assert value(page, "Pressure tank", "gauge") != was
    shown = page.get_by_text(re.compile("^The train at")).inner_text()
    slider.press("ArrowRight")
    page.get_by_text(shown).wait_for(state="hidden")


def test_an_address_brings_the_same_day_and_hour(page):
    opened(page)
    page.get_by_role("button", name="Next event").click()
    page.wait_for_url(re.compile(r"day=(?!60\b)"))
    page.get_by_role("button", name="Next draw").click()
    page.wait_for_url(re.compile("time="))
    page.wait_for_timeout(500)
    other = opened(page.context.new_page(), page.url)
    said = re.compile("^The train at")
    assert other.get_by_text(said).inner_text() == page.get_by_text(said).inner_text()
    assert other.locator("ol.train").inner_text() == page.locator("ol.train").inner_text()


def has_the_steps_of_the_run(page, fetched):
    steps = pd.read_csv(fetched(page, "Steps of this day (CSV)"))
    scenario = load.load(load.DEMO)
    common = twin.common_inputs(scenario, 0, 3, 1)
    whole = frames(twin.run(scenario, scenario.policies[0], common, trace=True))["trace"]
    inside = whole[(whole["time_s"] >= 60 * 86400.0) & (whole["time_s"] <= 61 * 86400.0)]
    assert len(inside) > 50
    assert steps["time_s"].tolist() == inside["time_s"].tolist()
    assert steps["tank_pressure_pa"].tolist() == inside["tank_pressure_pa"].tolist()


# What a diary says and gauges do not: names of work and faults, the policy, doses.
DIARY = re.compile(
    rb"replace.{0,3}lamp|wipe.{0,3}sleeve|change.{0,3}cartridge|technician|by.the.calendar|as.things.fail"
    rb"|dose of the day|Event before|Next event|policy="
)


def downloads(page):
    """The contents of every file that the page offers."""
    found = []
    for button in page.get_by_test_id("stDownloadButton").all():
        with page.expect_download() as begun:
            button.click()
        found.append(begun.value.path().read_bytes())
    return found


def test_a_diary_that_is_handed_over_hidden_is_sent_in_nothing(page, visit):
    """Websocket, page, address and files of a trainee hold no act, cause or policy until the reveal."""
    opened(page, "/history?years=1&seed=3&policy=as+things+fail")
    page.get_by_role("button", name="Hand over hidden").click()
    page.get_by_role("heading", name="What the gauges showed").wait_for()
    page.wait_for_url(re.compile(r"history\?handed=[\w-]+$"))  # what was asked has left the address
    other = visit()
    sent = listening(other)
    other.goto(page.url)
    other.get_by_role("heading", name="What the gauges showed").wait_for()
    for day in (7, 14, 21):
        other.get_by_role("button", name="Next week").click()
        other.get_by_text(re.compile(rf"day {day}\b")).first.wait_for()
    files = downloads(other)
    assert len(files) == 1
    assert files[0].startswith(b"month,")
    raw = received(sent)
    assert b"day 21" in raw
    for where in (raw, other.content().encode(), other.url.encode(), *files):
        assert not DIARY.search(where), DIARY.search(where)
    other.get_by_role("button", name="Reveal the diary").click()
    other.get_by_role("heading", name="A day in detail").wait_for()
    other.locator("ol.train").wait_for()
    assert other.get_by_role("slider", name="Day of the run").input_value() == "21"
    assert "as things fail" in other.get_by_test_id("stMain").inner_text()
    assert DIARY.search(received(sent)[len(raw) :])  # so that the search above would have found it


def test_an_address_that_says_hidden_and_names_the_policy_is_answered_without_it(visit):
    page = visit()
    sent = listening(page)
    page.goto("/history?years=1&seed=3&policy=as+things+fail&hidden=true")
    page.get_by_role("heading", name="What the gauges showed").wait_for()
    page.wait_for_url(re.compile("handed="))
    for where in (received(sent), page.content().encode(), page.url.encode()):
        assert not DIARY.search(where), DIARY.search(where)


@pytest.mark.parametrize("gap_ms", [0, 150])
def test_of_two_fast_presses_none_is_lost(page, gap_ms):
    """The second press leaves the browser before it was told of the first: they come to two weeks."""
    opened(page, "/history?years=1&seed=3&hidden=true")
    page.get_by_text(re.compile(", day 0$")).wait_for()
    page.get_by_role("button", name="Next week").evaluate(
        "(button, gap) => {button.click(); setTimeout(() => button.click(), gap);}", gap_ms
    )
    page.get_by_text(re.compile(", day 14$")).wait_for()
