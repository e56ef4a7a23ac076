"""Files of a visitor in a real browser: used, refused in one line, or shown as text."""

import datetime
import re
import shlex
from pathlib import Path

import numpy as np
import pytest

from tests.dashboard.driving import at_rest

pytestmark = pytest.mark.browser
ASKS_NOTHING = "/assumptions"  # all pages take files in one frame; some would answer, and work on
EVIL = "<script>document.title='x'</script><img src=//a.example/b>"


def give(page, which, name, content):
    page.get_by_text("Your own house or rain").click()
    at_rest(page)  # a file that is given to a page as it is drawn may be lost
    page.locator("input[type=file]").nth(which).set_input_files(
        {"name": name, "mimeType": "text/plain", "buffer": content}
    )


def rain_csv():
    """Two years in which it drizzles every third day."""
    start = datetime.date(2021, 1, 1)
    days = [start + datetime.timedelta(days=i) for i in range(730)]
    depth = np.where(np.arange(730) % 3 == 0, 2.5, 0.0)
    lines = [f"{day},{mm}" for day, mm in zip(days, depth, strict=True)]
    return "\n".join(["date,precipitation", *lines, ""]).encode()


def test_rain_that_was_uploaded_is_used(page, compared, fetched, command_line, tmp_path):
    page.goto("/compare?years=1&runs=1&seed=5")
    before = fetched(compared(page), "Rows of every run (CSV)").read_bytes()
    give(page, 1, "gauge.csv", rain_csv())
    page.get_by_text("Rain from a record: 2021-01-01 to 2022-12-31, 730 days").wait_for()
    for gone in ("The answer", "Keep it"):  # another question; what is left of the old page goes last
        page.get_by_role("heading", name=gone).wait_for(state="hidden")
    with_rain = fetched(compared(page), "Rows of every run (CSV)").read_bytes()
    assert with_rain != before
    (tmp_path / "rain.csv").write_bytes(rain_csv())
    fetched(page, "The site (TOML)")
    words = shlex.split(page.get_by_test_id("stCode").inner_text())
    assert words[words.index("--rain") + 1] == "rain.csv"
    command_line(words)
    assert (tmp_path / "again" / "rows.csv").read_bytes() == with_rain


def test_a_broken_site_is_refused_in_one_line(page):
    page.goto(ASKS_NOTHING)
    give(page, 0, "mine.toml", b'extends = "family_house"\n[pressure_switch]\ncut_in = "40 gpm"\n')
    page.get_by_text("This cannot be used:").wait_for()
    said = page.get_by_text(re.compile("^mine.toml: pressure_switch.cut_in: read '40 gpm'")).inner_text()
    assert "which is flow; wanted a number with a unit of pressure" in said
    assert "\n" not in said.strip()


def test_markup_in_names_is_text(page):
    page.goto(ASKS_NOTHING)
    give(page, 0, "<script>mine.toml", f'extends = "cottage"\nname = "{EVIL}"\n'.encode())
    page.get_by_text(f"From your file: {EVIL}").wait_for()
    assert page.title() != "x"
    assert page.locator("img[src*='a.example']").count() == 0


def test_a_path_as_a_name_reaches_no_file(page, compared, fetched):
    page.goto("/compare?years=1&runs=1&policies=nothing+done")
    give(page, 0, "../x.toml", b'extends = "cottage"\nname = "../x"\n[[policy]]\nname = "../x"\n')
    page.get_by_text("From your file: ../x").wait_for()
    compared(page)
    assert fetched(page, "The site (TOML)").name == "site.toml"
    root = Path(__file__).parents[2]
    assert not list(root.rglob("x.toml")) + list(root.parent.glob("x.toml"))


def test_a_file_over_the_limit_is_refused(page):
    page.goto(ASKS_NOTHING)
    give(page, 1, "rain.csv", b"date,precipitation\n" + b"#" * (5 * 1024 * 1024 + 1))
    page.get_by_text("File must be 5.0MB or smaller").wait_for()
    assert page.get_by_text("Rain from a record").count() == 0
