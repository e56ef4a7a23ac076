"""The handout of a skip prints on two pages, also where most is to be told."""

import re

import pytest

from sim.cli import main

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(
    "words", [["--task", "everything", "--years", "3"], ["--task", "wipe sleeve", "--years", "5"]]
)
def test_two_pages(words, browser, tmp_path, capsys):
    assert main(["skip", *words, "--replications", "1", "--workers", "1", "--out", str(tmp_path)]) == 0
    tab = browser.new_page()
    tab.goto((tmp_path / "handout.html").as_uri())
    tab.locator("#skip .main-svg").first.wait_for()
    printed = tab.pdf(prefer_css_page_size=True)
    tab.close()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 2
