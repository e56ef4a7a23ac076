"""What prints fits its paper: two pages a visit, one for year and alarm, four a design, no table cut off."""

import re

import pytest

from sim.cli import main
from sim.scenario.read.load import built_in, load

pytestmark = pytest.mark.browser


def pages(tab, html):
    """Return how many pages an HTML text prints on."""
    tab.set_content(html)
    return len(re.findall(rb"/Type\s*/Page\b", tab.pdf(prefer_css_page_size=True)))


@pytest.mark.parametrize("site", list(built_in()))
def test_each_visit_prints_on_two_pages_at_most(site, browser, tmp_path, capsys):
    tab, looked = browser.new_page(), 0
    for policy in load(site).policies[:2]:
        assert (
            main(["visits", site, "--policy", policy.name, "--from", "2027-01-01", "--out", str(tmp_path)])
            == 0
        )
        whole = (tmp_path / "sheets.html").read_text("utf-8")
        before, *sections = whole.split("<section>")
        head, end = before[: before.index("<h1>")], "</main></body></html>"
        for section in sections:
            inside = section[: section.index("</section>")]
            if "<h2>Sheet " in inside:
                looked += 1
                alone = f"{head}<section style='break-before: auto'>{inside}</section>{end}"
                assert pages(tab, alone) <= 2, (
                    policy.name, re.search("Sheet [^<]*", inside)[0],
                )  # fmt: skip
        for name in ("plan", "card"):
            assert pages(tab, (tmp_path / f"{name}.html").read_text("utf-8")) == 1, (policy.name, name)
    tab.close()
    capsys.readouterr()
    assert looked > 5


def test_a_design_sheet_prints_on_four_pages_at_most(browser, tmp_path, capsys):
    assert main(["sheet", "--years", "1", "--replications", "3", "--out", str(tmp_path)]) == 0
    tab = browser.new_page()
    assert 2 <= pages(tab, (tmp_path / "sheet.html").read_text("utf-8")) <= 4
    tab.close()
    capsys.readouterr()


@pytest.mark.parametrize(
    "words",
    [
        ["compare", "--years", "1", "--replications", "2"],
        ["size", "--years", "1", "--replications", "2", "--try", "stage.sediment.size=2.5x10,4.5x20"],
    ],
)
def test_no_table_of_a_report_is_wider_than_its_paper(words, browser, tmp_path, capsys):
    assert main([*words, "--out", str(tmp_path)]) == 0
    tab = browser.new_page(viewport={"width": 700, "height": 990})  # letter and A4 without their margins
    tab.emulate_media(media="print")
    tab.set_content((tmp_path / "report.html").read_text("utf-8"))
    widths = tab.eval_on_selector_all("table", "all => all.map(one => one.offsetWidth)")
    assert len(widths) > 2
    assert max(widths) <= 700
    tab.close()
    capsys.readouterr()
