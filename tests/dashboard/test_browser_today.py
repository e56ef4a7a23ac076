"""The first page in a real browser: seen at once, a reading typed on a phone, files to take along."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.dashboard.driving import at_rest

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]
WHOLE_S = 90_000  # of the rest of the sampled years, on a busy machine [ms]


def whole(page):
    """Wait until the state stands on all its sampled years."""
    page.get_by_text("Part by part").first.wait_for(timeout=WHOLE_S)
    at_rest(page, WHOLE_S)


def test_a_first_visit_sees_the_train_the_parts_and_what_to_do(page, fetched):
    page.goto("/")
    page.get_by_text("How does this house stand today?").wait_for()
    whole(page)
    said = page.get_by_role("img", name="The train of Family house, roof to tap").first
    words = said.locator("desc").text_content()
    for part in ("Cistern", "Pressure tank", "Sediment", "Carbon", "UV unit"):
        assert f" {part}: " in words
    assert "The bypass is shut." in words
    page.locator("ol.lines > li").nth(5).wait_for()
    lines = page.locator("ol.lines > li").all_inner_texts()
    assert len(lines) == 6 and all(re.search(r"by|now|ahead|no date", line) for line in lines)
    sheet = fetched(page, "Visit sheet").read_text()
    calendar = fetched(page, "Calendar file").read_text()
    bought = fetched(page, "Shopping list").read_text()
    tasks = page.locator("ol.tasks > li > span:first-child").all_inner_texts()
    assert tasks and calendar.count("BEGIN:VEVENT") == 1
    for task in tasks:
        assert task.lower() in sheet.lower()
        assert task.lower() in calendar.replace("\r\n ", "").lower()
    assert bought.startswith("For the visit by ")


def test_a_reading_on_a_phone_moves_the_state_to_that_of_the_command_line(visit, server):
    page = visit(viewport={"width": 390, "height": 844}, has_touch=True)
    page.goto("/?site=Cottage")
    whole(page)
    before = page.locator(".st-key-lead").inner_text()
    page.get_by_label("Number").fill("81 %")
    page.get_by_role("button", name="Add it").click()
    page.get_by_text("from 1 reading:").first.wait_for(timeout=WHOLE_S)
    whole(page)
    after = page.locator(".st-key-lead").inner_text()
    assert after != before
    assert page.locator(".train svg.tall").is_visible() and not page.locator(".train svg.wide").is_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    (folder,) = Path(server.environment["CISTERNTWIN_DIARIES"]).glob("cottage_diary")
    told = subprocess.run(
        [sys.executable, "-m", "sim.cli", "readings", "list", "cottage", "--diary", str(folder)],
        check=True, capture_output=True, text=True, cwd=ROOT,
    ).stdout  # fmt: skip
    assert "UV 81 %" in told
    line = page.locator("ol.lines > li", has_text="UV").first.inner_text()
    assert re.search(r"\d+ % reading \(\d+ % to \d+ %\)", line), json.dumps(line)
