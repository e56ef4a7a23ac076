"""What if nobody does it, in a real browser: choose, tell, hide, play, reveal, as the command says."""

import re
import shlex

import pytest
from playwright.sync_api import expect

from tests.dashboard.driving import listening, read, received

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
    return read(said)


def test_what_is_hidden_is_revealed_and_the_answer_is_that_of_the_command(page, fetched, command_line):
    told(page)
    hidden = story(page)
    assert not DOSE.search(hidden)
    assert not BELOW.search(hidden)
    assert "kept:" not in hidden
    assert "wipe sleeve" not in hidden  # nor what nobody does
    assert page.get_by_text("What nobody does").count() == 0
    page.get_by_role("button", name="Reveal what is skipped").click()
    page.get_by_role("heading", name="The answer").wait_for()
    page.get_by_role("heading", name="Keep it").wait_for()
    revealed = story(page)
    assert DOSE.search(revealed)
    page.get_by_text("What nobody does").wait_for()  # what stood hidden goes with the last of the run
    assert BELOW.search(revealed)
    words = page.locator("[data-testid=stCode] code").last.inner_text()
    fetched(page, "The site (TOML)")
    printed = command_line(shlex.split(words)).splitlines()
    # The caution stands before the numbers.
    assert printed[0].startswith("A bad day, or day below the dose target")
    printed = printed[1:]
    assert "skipping 'wipe sleeve' from 1 February" in printed[0]
    assert printed[0] in revealed
    start = printed.index("In the run told here:") + 1
    summary = printed[start : printed.index("", start)]
    assert len(summary) >= 2
    for line in summary:
        assert line.strip() in revealed


NAMED = re.compile(
    rb"replace.{0,3}lamp|wipe.{0,3}sleeve|change.{0,3}cartridge|clear.{0,3}gutters|What nobody does"
)


def test_what_is_handed_over_names_no_work_in_anything_that_is_sent(page, visit):
    """Frames of the websocket, page and address of a trainee, grepped for any work by its name."""
    page.goto("/skipped_work?years=1&runs=2&seed=4&from=2&tasks=replace+lamp&tasks=wipe+sleeve")
    page.get_by_role("button", name="Hand over hidden").click()
    page.locator("ol.train").wait_for()
    page.wait_for_url(re.compile(r"^(?!.*(tasks|from)=).*handed="))  # what is asked leaves it one by one
    assert not NAMED.search(page.url.encode())
    given = page.url
    other = visit()
    sent = listening(other)
    other.goto(given)
    other.locator("ol.train").wait_for()
    other.get_by_role("button", name="Next month").click()
    other.get_by_text("month 3 of the run").wait_for()
    raw = received(sent)
    assert len(raw) > 1000
    assert b"month 3 of the run" in raw
    for where in (raw, other.content().encode(), other.url.encode()):
        assert not NAMED.search(where)
    other.get_by_role("button", name="Reveal what is skipped").click()
    other.get_by_role("heading", name="The answer").wait_for()
    other.get_by_text("What nobody does").wait_for()
    assert "replace lamp" in story(other)
    assert NAMED.search(received(sent))  # so that the search above would have found it


def test_an_address_that_says_hidden_and_names_the_work_is_not_answered_with_its_name(visit):
    page = visit()
    sent = listening(page)
    page.goto("/skipped_work?years=1&runs=2&seed=4&from=2&tasks=replace+lamp&hidden=true")
    page.locator("ol.train").wait_for()
    page.wait_for_url(re.compile("handed="))
    assert not NAMED.search(page.url.encode())
    assert not NAMED.search(page.content().encode())
    assert not NAMED.search(received(sent))
    page.get_by_role("button", name="Reveal what is skipped").click()
    page.get_by_test_id("stMultiSelect").get_by_text("replace lamp").wait_for()


def test_a_fault_is_staged_in_the_month_that_is_shown_and_handed_over_unnamed(visit):
    page = told(visit(), "/skipped_work?site=Cottage&years=1&runs=2&seed=4&from=2&hidden=true")
    page.get_by_role("link", name="Stage a fault in this month").click()
    day = page.get_by_role("spinbutton", name="It begins on day of the year")
    day.wait_for()
    assert day.input_value() == "31"  # the first of February
    assert page.get_by_role("combobox", name="House").input_value() == "Cottage"
    page.get_by_text("I am the trainer: let me choose the fault").click()
    page.get_by_role("button", name="Hand over hidden").click()
    page.wait_for_url(re.compile("handed="))
    other = visit()
    sent = listening(other)
    other.goto(page.url)
    other.get_by_role("button", name="Begin this case").click()
    other.get_by_text("Day 31; the case runs from day 31 to 91").wait_for()
    truth = "film on the sensor window"  # the first of the list
    assert truth not in other.content() + other.url
    assert truth.encode() not in received(sent)
    other.get_by_role("button", name="Done: show what was true").click()
    other.get_by_text(f"It was: {truth}").wait_for()


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
