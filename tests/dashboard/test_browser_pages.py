"""Every page in a real browser: opens without a fault, can be read in light and dark and on a phone."""

import itertools
import json
import re

import pytest

from dashboard.pages import PAGES
from tests.dashboard.driving import at_rest, until

pytestmark = pytest.mark.browser
READY = {  # what stands on a page when it is whole
    "Today": "Part by part",
    "Compare policies": "Run the comparison",
    "One history": "Draws of this day",
    "Skipped work": "Tell what happens",
    "Design": "Peak flow, counted in other ways",
    "Drill": "Begin this case",
    "Sizes": "designs, each looked after in",
    "Intervals": "Least difference that matters",
    "The house": "How much rain is caught and kept?",
    "Maintenance": "What is done, and when",
    "Assumptions": "Every value of this site",
}
# Contrast of every word against what is painted under it, as WCAG 2.2 defines it (1.4.3; from memory). Words
# faded out, shown by a figure only under the pointer, or disabled do not count; the number at a slider hangs
# outside the thumb it belongs to, in the first colour of the theme, which has its own test.
LOW_CONTRAST = """() => {
  const parse = c => { const m = c.match(/rgba?\\(([^)]+)\\)/); if (!m) return null;
    const p = m[1].split(',').map(Number); return [p[0], p[1], p[2], p.length > 3 ? p[3] : 1]; };
  const part = v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
  const luminance = c => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
  const over = (a, b) => [0, 1, 2].map(i => a[i] * a[3] + b[i] * (1 - a[3])).concat([1]);
  const paper = e => { const layers = [];
    for (let n = e; n; n = n.parentElement) { const c = parse(getComputedStyle(n).backgroundColor);
      if (c && c[3] > 0) { layers.push(c); if (c[3] >= 1) break; } }
    return layers.reverse().reduce((below, layer) => over(layer, below), [255, 255, 255, 1]); };
  const found = [], words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let seen = 0;
  for (let n; (n = words.nextNode());) {
    const e = n.parentElement, text = n.textContent.trim();
    if (!text || ['STYLE', 'SCRIPT', 'NOSCRIPT'].includes(e.tagName)) continue;
    if (e.closest('[disabled],[aria-disabled=true],.hoverlayer,.modebar')) continue;
    if (e.closest('[data-testid=stSliderTickBar],[data-testid=stSliderThumbValue]')) continue;
    const box = e.getBoundingClientRect(), style = getComputedStyle(e);
    if (box.width < 2 || box.height < 2 || style.visibility === 'hidden') continue;
    let fade = 1; for (let m = e; m; m = m.parentElement) fade *= Number(getComputedStyle(m).opacity);
    if (fade === 0) continue;
    const under = paper(e), ink = parse(e.closest('svg') ? style.fill : style.color);
    if (!ink) continue;
    seen += 1;
    const pair = [luminance(over([ink[0], ink[1], ink[2], ink[3] * fade], under)), luminance(under)];
    const ratio = (Math.max(...pair) + 0.05) / (Math.min(...pair) + 0.05);
    if (ratio < 4.5) found.push([text.slice(0, 40), ratio.toFixed(2)]);
  }
  return {seen, low: found};
}"""
# Pages that answer who comes: the short questions of tests below, as a longer one would work on under them.
SHORT = {
    "compare.py": "years=1&runs=2&seed=5",
    "history.py": "years=1&seed=3&day=60",
    "skipped_work.py": "years=1&runs=1&seed=4&from=9",
}
SAID = """() => [...document.querySelectorAll('[data-testid=stPlotlyChart]')]
  .map(e => e.outerHTML.match(/aria-label="([^"]*)"/)?.[1] ?? '')"""
SCHEME = "getComputedStyle(document.querySelector('.stApp')).colorScheme"
SIDEWAYS = """() => [document.documentElement, document.querySelector('[data-testid=stMain]')]
  .map(e => e.scrollWidth - e.clientWidth)"""


def address(file):
    """Path of a page; the first has none of its own."""
    return "/" if file == PAGES[0][0] else f"/{file.removesuffix('.py')}"


def whole(page, title):
    page.get_by_text(READY[title]).first.wait_for()
    return page


def words_drawn(page, least):
    """Return what is found of words, once all are there: some parts of a page wait for a script of theirs."""
    before = page.evaluate(LOW_CONTRAST)
    page.wait_for_timeout(300)
    found = page.evaluate(LOW_CONTRAST)
    return found if found["seen"] == before["seen"] > least else None


def by_light_of(page, scheme):
    page.emulate_media(color_scheme=scheme)
    # The pages let nobody evaluate text, a waiting browser neither.
    until(lambda: page.evaluate(SCHEME) == scheme, 60.0)


def readable(page, least):
    """Hold all words of a page to their contrast, by day and by night."""
    for scheme in ("light", "dark"):
        by_light_of(page, scheme)
        page.wait_for_timeout(700)  # colours fade from one to the other
        at_rest(page)  # what is to be drawn again fades too
        low = until(lambda: words_drawn(page, least), 60.0)["low"]
        assert low == [], scheme


def in_order(page):
    """Hold headings to their order, and the keyboard to that of the page."""
    levels = page.evaluate(
        "[...document.querySelectorAll('h1, h2, h3, h4, h5, h6')].map(e => Number(e.tagName[1]))"
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels)), levels
    assert page.locator("[tabindex]:not([tabindex='0']):not([tabindex='-1'])").count() == 0


@pytest.mark.parametrize(("file", "title"), PAGES)
def test_every_page_opens_and_can_be_read(page, file, title):
    page.goto(f"{address(file)}?{SHORT.get(file, 'years=1')}")
    whole(page, title)
    readable(page, 20)
    in_order(page)


def test_figures_of_a_history_say_what_they_show(page):
    page.goto(f"/history?{SHORT['history.py']}")
    whole(page, "One history")
    page.locator(".js-plotly-plot").nth(1).wait_for()
    said = page.evaluate(SAID)
    assert len(said) == 2
    assert re.search(r"the least dose of the day is under the target on \d+ days", said[0])
    assert re.search(r"gauge pressure between [\d.]+ psi and [\d.]+ psi, .* \d+ draws", said[1])


def test_an_answer_can_be_read_and_its_figures_say_what_they_show(page, compared):
    page.goto(f"/compare?{SHORT['compare.py']}")
    compared(page)
    page.locator(".js-plotly-plot").nth(5).wait_for()
    readable(page, 80)
    in_order(page)
    said = page.evaluate(SAID)
    assert len(said) == 6
    assert "fewest first: " in said[1], json.dumps(said)
    assert "the least mean cost" in said[4]
    assert "No other way has both a lower mean cost and fewer days" in said[5]


def test_a_story_can_be_read_and_its_figure_says_what_it_shows(page):
    page.goto(f"/skipped_work?{SHORT['skipped_work.py']}")
    page.get_by_role("button", name="Tell what happens").click()
    page.get_by_role("heading", name="Keep it").wait_for()
    page.locator(".js-plotly-plot .annotation-text").first.wait_for()
    readable(page, 80)
    in_order(page)
    (said,) = page.evaluate(SAID)
    assert re.match(r"Skipped, the UV reading falls to \d+\s% \(kept: \d+\s%\) and \d+ days", said)


def test_a_phone_reaches_every_page_and_does_not_scroll_sideways(visit, compared):
    page = visit(viewport={"width": 390, "height": 844}, has_touch=True)
    page.goto("/compare?years=1&runs=1&seed=5")  # fewer runs than a search takes
    compared(page)
    page.locator(".js-plotly-plot").nth(4).wait_for()
    assert page.evaluate(SIDEWAYS) == [0, 0]
    for _, title in [*PAGES[1:], PAGES[0]]:
        page.get_by_role("link", name=title).click()
        whole(page, title)
        assert page.evaluate(SIDEWAYS) == [0, 0], title
        assert page.get_by_test_id("stException").count() == 0, title


def test_a_link_keeps_house_and_units(page):
    page.goto("/compare?site=Cottage&units=SI&years=1&runs=1")
    page.get_by_role("button", name="Run the comparison").wait_for()
    page.get_by_role("link", name="Assumptions").click()
    whole(page, "Assumptions")
    assert page.get_by_role("radio", name="SI").get_attribute("aria-checked") == "true"
    assert "Cottage" in page.get_by_test_id("stSelectbox").first.inner_html()
    assert "site=Cottage" in page.url
    assert "units=SI" in page.url
