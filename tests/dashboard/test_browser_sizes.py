"""The front of sizes in a real browser: a click on a mark chooses its design and tells it in words."""

import re

import pytest

from tests.plain_words import half_digit

pytestmark = pytest.mark.browser
TRIES = "pressure_tank.volume=86 gal,119 gal"
QUESTION = f"/sizes?years=1&runs=2&seed=5&worth=100&tries={TRIES}"
# Every mark: row of the table, place in the figure and on the screen.
MARKS = """() => { const figure = document.querySelector('.js-plotly-plot');
  const box = figure.getBoundingClientRect();
  const {xaxis: x, yaxis: y} = figure._fullLayout, found = [];
  for (const trace of figure._fullData) for (let i = 0; i < (trace.customdata || []).length; i++)
    found.push({row: trace.customdata[i], cost: trace.x[i], days: trace.y[i], name: trace.text[i],
      left: box.left + x._offset + x.l2p(trace.x[i]), top: box.top + y._offset + y.l2p(trace.y[i])});
  return found.sort((one, other) => one.row - other.row); }"""


def test_a_click_on_the_front_chooses_a_design(page):
    page.goto(QUESTION)
    page.get_by_role("button", name="Search", exact=True).click()
    page.get_by_role("heading", name="Keep it").wait_for(timeout=300_000)
    page.locator(".js-plotly-plot .scatterlayer path.point").first.wait_for()
    page.locator(".js-plotly-plot").scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    first, *others = page.evaluate(MARKS)
    assert others
    told = re.compile(
        r"^(.+), looked after (.+): .+ It costs ([\d,.]+) USD a year, .* with ([\d.]+) days below"
    )
    assert (
        told.match(page.get_by_text(told).inner_text()).expand(r"\1 (\2)") == first["name"].split("<br>")[0]
    )
    other = others[-1]
    page.mouse.click(other["left"], other["top"])
    design = other["name"].split(" (")[0]
    words = page.get_by_text(re.compile(f"^{re.escape(design)}, looked after"))
    words.wait_for()
    name, policy, cost, days = told.match(words.inner_text()).groups()
    assert f"{name} ({policy})" == other["name"].split("<br>")[0]
    assert float(cost.replace(",", "")) == pytest.approx(other["cost"], rel=0.005)  # written to three digits
    assert float(days) == pytest.approx(other["days"], rel=0, abs=half_digit(other["days"]))
    assert other["cost"] != first["cost"]
    chosen = page.get_by_test_id("stSelectbox").last
    called = other["name"].split("<br>")[0]
    chosen.get_by_text(called).or_(chosen.locator(f'[value="{called}"]')).first.wait_for()
    said = page.get_by_test_id("stPlotlyChart").evaluate("e => e.outerHTML")
    assert re.search(r'aria-label="Front, where no other of the \d+ is better in both', said)
