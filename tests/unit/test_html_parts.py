"""Parts of pages and sheets: the next visit, what to check first, the year's plan, from made-up answers."""

import re
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.report.html import comparison_report, year_plan
from sim.report.html.size_report import piece_rows
from sim.report.train.checks import checks_html
from sim.report.train.visit_box import DANGER, visit_html
from sim.study.caution import AT_WORK
from sim.study.visits.visits import Job, Visit
from sim.units import PSI_PA
from tests import changed_site

SITE = changed_site.site()
TODAY = date(2027, 5, 14)


def _answer(on=date(2027, 5, 20), tasks=("wipe sleeve",), buy=(), minutes=42.4):
    return SimpleNamespace(as_of=TODAY, visit=SimpleNamespace(on=on, tasks=tasks, buy=buy, minutes=minutes))


def _words(page):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)).strip()


@pytest.mark.parametrize(
    ("on", "said"),
    [(date(2027, 5, 20), "Thursday, 20 May"), (date(2028, 1, 3), "Monday, 3 January 2028"), (TODAY, "Today"),
     (date(2027, 5, 1), "Today")],  # what is overdue is done now
)  # fmt: skip
def test_the_next_visit_says_its_day_and_how_long_it_takes(on, said):
    page = visit_html(SITE, _answer(on=on))
    assert _words(page).startswith(f"{said} work 42 min ")
    assert visit_html(SITE, SimpleNamespace(as_of=TODAY, visit=None)) == ""


def test_the_next_visit_names_what_is_bought_and_each_task_with_its_minutes():
    page = visit_html(SITE, _answer(tasks=("change cartridge: carbon", "<own>"), buy=("carbon <b>", "lamp")))
    alone = SITE.task("change cartridge").minutes
    assert f'<span>Change cartridge: carbon</span><span class="min">{alone:.0f} min alone</span>' in page
    assert (
        '<span>&lt;own&gt;</span><span class="min"></span>' in page
    )  # a task no longer of the site has no time
    assert "buy <b>carbon &lt;b&gt;, lamp</b>" in page
    assert "buy" not in visit_html(SITE, _answer())


@pytest.mark.parametrize(
    ("shuts", "unplugs", "danger"),
    [(True, True, True), (True, False, True), (False, True, True), (False, False, False)],
)
def test_who_opens_the_train_or_the_unit_is_warned_before_the_tasks(shuts, unplugs, danger):
    site = SimpleNamespace(
        task=lambda name: SimpleNamespace(minutes=5.0, shuts_water=shuts, unplugs_uv=unplugs)
    )
    page = visit_html(site, _answer())
    assert (DANGER in page, AT_WORK in page) == (danger, not danger)
    assert page.index('role="note"') < page.index("<ol")


def test_what_to_check_first_stands_behind_its_caution_in_order():
    acts = [
        SimpleNamespace(
            do="wipe the <sleeve>", share=0.62, minutes=20.0, money=0.0, tells="If it rises, film."
        ),
        SimpleNamespace(do="read again", share=0.0, minutes=1.0, money=3.5, tells="Tells scatter."),
    ]
    page = checks_html(SimpleNamespace(acts=acts, caution="Unplug & wait.", stop="Else call."), "USD")
    assert page.startswith('<p class="danger" role="note">Unplug &amp; wait.</p><ol')
    assert "Wipe the &lt;sleeve&gt;" in page and "--share:62%" in page
    assert page.count("--share") == 1  # what tells no cause apart has no chance
    assert [one.strip() for one in re.findall(r'"place">(\d)<', page)] == ["1", "2"]
    assert "20 min" in page and "1.0 min, 3.5 USD" in page and page.endswith("<p><b>Else call.</b></p>")


VISITS = [
    Visit(date(2027, 3, 1), "owner", (Job("wipe sleeve", "", date(2027, 3, 1)),)),
    Visit(date(2027, 7, 10), "owner", (Job("change cartridge", "sediment", date(2027, 7, 10)),
                                       Job("wipe sleeve", "", date(2027, 7, 10)))),
    Visit(date(2027, 7, 30), "owner", (Job("wipe sleeve", "", date(2027, 7, 30)),)),
    Visit(date(2028, 1, 15), "technician", (Job("replace lamp", "", date(2028, 1, 15)),
                                            Job("clear gutters and diverter", "", date(2028, 1, 15)))),
]  # fmt: skip


def test_what_is_ordered_comes_three_days_before_it_must():
    orders = year_plan.shopping(SITE, VISITS)
    assert [order["on"] for order in orders] == sorted(order["on"] for order in orders)
    assert {order["on"] for order in orders} == {date(2027, 7, 10), date(2028, 1, 15)}  # wiping takes no part
    for order in orders:
        for part in order["parts"]:
            assert (order["on"] - order["by"]).days == round(part.lead_s / 86400.0) + 3


def test_the_plan_of_a_year_has_a_column_a_month_and_the_days_of_each_task():
    months = [(2027 + (1 + n) // 12, (1 + n) % 12 + 1) for n in range(13)]  # February to February
    rows = {row["label"]: row for row in year_plan._rows(SITE, VISITS, months)}
    days = {
        label: {months[k]: cell for k, cell in enumerate(row["days"]) if cell} for label, row in rows.items()
    }
    assert days["wipe sleeve"] == {(2027, 3): "1", (2027, 7): "10 30"}
    assert days["change cartridge: sediment"] == {(2027, 7): "10"}
    assert days["replace lamp"] == {(2028, 1): "15"}
    assert rows["replace lamp"]["who"] == "technician" and rows["wipe sleeve"]["who"] == "owner"
    assert rows["replace lamp"]["off"] is True and rows["clear gutters and diverter"]["off"] is False
    assert rows["replace lamp"]["minutes"] >= round(SITE.task("replace lamp").minutes) > 0
    page = year_plan.build(SITE, "by the calendar", VISITS, date(2027, 2, 14))
    headings = re.findall(r"<th[^>]*>\s*(\w{3} \d\d)\s*</th>", page)
    assert headings[0] == "Feb 27" and headings[-1] == "Feb 28" and len(headings) == 13


def test_equipment_is_told_with_its_price_life_and_share_of_a_year():
    pieces = [SimpleNamespace(part="pump", price=354.4, years=12.04, cost=29.44)]
    assert piece_rows(pieces) == [["pump", "354", "12", "29"]]


def test_a_table_of_a_report_says_none_for_what_is_not_known():
    table = pd.DataFrame(
        {"policy": ["a", "b"], "runs": [12345, 2], "cost": [1234.5678, np.nan], "days": [0.0, 2.66]}
    )
    assert comparison_report.cells(table) == [["a", "12,345", "1,230", "0"], ["b", "2", "none", "2.7"]]


def test_a_history_is_told_by_the_month_its_least_and_the_sum_of_hours_off():
    count = 60  # 31 days of January, 28 of February, one of March
    days = pd.DataFrame({
        "date": pd.date_range("2027-01-01", periods=count), "water_off_s": [1800.0] * count,
        "uv_reading": np.linspace(0.9, 0.31, count),
        "dose_least_j_m2": [np.nan, *np.linspace(800.0, 210.0, count - 1)],
        "tank_pressure_min_pa": np.linspace(50.0, 20.5, count) * PSI_PA, "tap_pressure_min_pa": 10.0 * PSI_PA,
    })  # fmt: skip
    table = comparison_report.by_month(days, "us")
    assert table["month"].tolist() == ["2027-01", "2027-02", "2027-03"]
    assert table["water off, h"].tolist() == [15.5, 14.0, 0.5]
    assert table["least UV reading, %"].tolist() == pytest.approx([60.0, 32.0, 31.0])
    assert table["least tank pressure, psi"].tolist() == pytest.approx([35.0, 21.0, 20.5])
    dose = next(name for name in table if name.endswith("mJ/cm2"))
    assert table[dose].tolist() == pytest.approx([51.0, 22.0, 21.0], abs=0.6) and dose.startswith(
        "least dose"
    )
    kpa = comparison_report.by_month(days, "si")["least tank pressure, kPa"]
    assert kpa.tolist() == pytest.approx([one * PSI_PA / 1e3 for one in (35.0, 21.0, 20.5)])


def test_a_manifest_is_read_a_line_a_key():
    made = {
        "scenario_digest": "ab",
        "policies": ["a", "b"],
        "took": {"rain": {"rows": 3}, "left": [2001, 2004]},
    }
    assert comparison_report.manifest_lines(made) == [
        ("scenario digest", "ab"), ("policies", "a, b"), ("took", "rain rows 3, left 2001, 2004"),
    ]  # fmt: skip


def test_histories_are_those_of_the_reference_and_of_the_worst():
    def policy(name, days, off):
        return SimpleNamespace(policy=name, days_below_target=SimpleNamespace(estimate=days),
                               water_off_h=SimpleNamespace(estimate=off))  # fmt: skip

    said = [
        policy("ours", 400.0, 9.0),
        policy("b", 3.0, 50.0),
        policy("c", 3.0, 60.0),
        policy("d", 1.0, 900.0),
    ]
    shown = comparison_report._shown_histories
    assert shown(SimpleNamespace(reference="ours", summaries=said)) == ["ours", "c"]
    assert shown(SimpleNamespace(reference="ours", summaries=said[:1])) == ["ours"]
