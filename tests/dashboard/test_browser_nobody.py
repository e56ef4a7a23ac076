"""What if nobody does it, in a real browser: choose, tell, hide, play, reveal, as the command says."""

import re
import shlex

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser
QUESTION = "/skipped_work?years=1&runs=2&seed=4&from=2&hidden=true"
DOSE = re.compile("least dose of the day")
BELOW = re.compile("below the dose target", re.IGNORECASE)


def told(page, address=QUESTION):
    page.goto(address)
    button, train = page.get_by_role("button", name="Tell what happens"), page.locator("ol.train")
    button.or_(train).first.wait_for()
    if not train.is_visible():  # an answer that is kept is shown at once, with its question hidden
        button.click()
    train.wait_for()
    return page


def story(page):
    """All words on the page but the caution, which stands there whether hidden or not."""
    said = page.get_by_test_id("stMain").inner_text()
    for caution in page.get_by_test_id("stAlert").all():
        said = said.replace(caution.inner_text(), "")
    return said


def test_what_is_hidden_is_revealed_and_the_answer_is_that_of_the_command(page, fetched, command_line):
    told(page)
    page.get_by_text("Show only what a person can see").wait_for()
    hidden = story(page)
    assert not DOSE.search(hidden)
    assert not BELOW.search(hidden)
    assert "kept:" not in hidden
    assert "wipe sleeve" not in hidden  # nor what nobody does
    assert not page.get_by_text("What nobody does").is_visible()
    page.get_by_text("Show only what a person can see").click()
    page.get_by_role("heading", name="The answer").wait_for()
    page.get_by_role("heading", name="Keep it").wait_for()
    revealed = story(page)
    assert DOSE.search(revealed)
    page.get_by_text("What nobody does").wait_for()  # what stood hidden goes with the last of the run
    assert BELOW.search(revealed)
    words = page.locator("[data-testid=stCode] code").last.inner_text()
    fetched(page, "The site (TOML)")
    printed = command_line(shlex.split(words)).splitlines()
    assert printed[0].startswith("These are simulated days")  # the caution stands before the numbers
    printed = printed[1:]
    assert "skipping 'wipe sleeve' from 1 February" in printed[0]
    assert printed[0] in revealed
    start = printed.index("In the run told here:") + 1
    summary = printed[start : printed.index("", start)]
    assert len(summary) >= 2
    for line in summary:
        assert line.strip() in revealed


def test_it_plays_to_the_end_and_a_button_goes_back(page):
    told(page, "/skipped_work?years=1&runs=2&seed=4&from=10&hidden=true")
    slider = page.get_by_role("slider", name="Month since the work was left")
    assert (slider.get_attribute("min"), slider.get_attribute("max")) == ("1", "3")
    assert slider.input_value() == "1"
    page.get_by_text("Play, a month every two seconds").click()
    page.get_by_text("month 12 of the run").wait_for()
    assert slider.input_value() == "3"
    switch = page.get_by_role("switch", name="Play").or_(page.get_by_role("checkbox", name="Play"))
    expect(switch.first).not_to_be_checked()
    page.get_by_role("button", name="Month before").click()
    page.get_by_text("month 11 of the run").wait_for()
    assert slider.input_value() == "2"
