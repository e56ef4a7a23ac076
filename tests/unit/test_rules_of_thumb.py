"""Rules of thumb beside made-up runs, when they mislead; and criteria that put designs out."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sim.scenario.read.series import RainRecord
from sim.study.check.site_supply import yearly_demand_m3, yearly_roof_m3
from sim.study.size import paper
from sim.study.size.rules_of_thumb import judged, rules, wanted_tank_m3
from sim.units import GPM_M3_S, PSI_PA
from tests import changed_site

SITE = changed_site.site()


def _lines(**columns):
    """Two designs in two runs each; what is not said is nil."""
    base = {"policy": "a", "design_number": [0, 0, 1, 1], "cost": [900.0, 1000.0, 1100.0, 1200.0]}
    nil = dict.fromkeys(
        ("cistern_empty_days", "short_runs", "pump_starts", "over_uv_share", "days_below_target"), 0.0
    )
    return pd.DataFrame(base | nil | columns)


def _rules(designs, units="si", **columns):
    return rules(SITE, _lines(**columns), designs, units)


def _cisterns(*capacities_m3):
    return [changed_site.site(cistern__capacity=f"{one} m3") for one in capacities_m3]


def test_the_rule_for_the_cistern_is_a_twentieth_of_the_lesser_of_yield_and_demand():
    rule = _rules(_cisterns(10, 40))[0]
    roof, demand = yearly_roof_m3(SITE), yearly_demand_m3(SITE)
    assert demand < roof  # so it is demand that counts here
    assert rule.says == f"{50.0 * demand:,.0f} L: 5 % of a year's demand"
    dry = changed_site.site(roof__area="50 m2")
    of_roof = rules(dry, _lines(), _cisterns(10, 40), "si")[0]
    assert of_roof.says == f"{50.0 * yearly_roof_m3(dry):,.0f} L: 5 % of a year's roof yield"


@pytest.mark.parametrize(
    ("capacities", "dry_days", "said"),
    [
        (
            (5, 8),
            [0.0, 0.0, 0.0, 0.0],
            "Nearest to it is 8,000 L, with 0 dry days a year: it does not mislead here.",
        ),
        (
            (5, 8),
            [9.0, 9.0, 2.0, 4.0],
            "Nearest to it is 8,000 L, with 3.0 dry days a year: it misleads where rain",
        ),
        (
            (20, 40),
            [2.0, 0.0, 0.0, 0.0],
            "less than the smallest size run (20,000 L), which already ran dry: it mis",
        ),
        (
            (20, 40),
            [0.0, 0.0, 0.0, 0.0],
            "less than the smallest size run (20,000 L), so the runs cannot say how dry",
        ),
    ],
)
def test_what_the_runs_say_of_the_rule_for_the_cistern(capacities, dry_days, said):
    """The rule asks for some 7,400 L here."""
    assert 6.0 < 0.05 * yearly_demand_m3(SITE) < 8.0
    rule = _rules(_cisterns(*capacities), cistern_empty_days=dry_days)[0]
    assert said in rule.here
    mean = sum(dry_days[:2]) / 2
    first = f"{capacities[0]:,},000 L: {mean:{'.0f' if mean == 0 else '.1f'}} dry days"
    assert rule.here.startswith(first) and "and 950 USD a year" in rule.here


def test_a_minute_of_the_pump_is_the_drawdown_wanted_of_a_tank():
    """Boyle: a tank of V at precharge p gives V p (1/P1 - 1/P2), all of them absolute."""
    wanted_m3 = wanted_tank_m3(SITE)
    air = 101_325.0 * (1.0 - 2.25577e-5 * 50.0) ** 5.25588  # ISO 2533 at the site's 50 m
    low, high, charge = (air + psi * PSI_PA for psi in (40.0, 60.0, 38.0))
    drawdown_m3 = wanted_m3 * charge * (1.0 / low - 1.0 / high)
    # 13.68 and 9.42 gpm at cut-in and cut-out, by the quadratic of the pump against 0.02 ft/gpm2 of suction
    assert drawdown_m3 == pytest.approx(60.0 * 0.5 * (13.68 + 9.42) * GPM_M3_S, rel=2e-3)


def _tanks(*volumes_gal):
    return [changed_site.site(pressure_tank__volume=f"{one} gal") for one in volumes_gal]


@pytest.mark.parametrize(
    ("gallons", "short", "said"),
    [
        ((20, 30), [0.0, 1.5, 0.0, 0.0], "20 gal is smaller and had next to none: the rule asks for more"),
        ((20, 30), [5.0, 5.0, 9.0, 9.0], "No size run was free of them. A short run wears"),
        (
            (20, 90),
            [5.0, 5.0, 0.0, 0.0],
            "Sizes at or above the rule had next to none, smaller ones did: it does not",
        ),
        ((90, 120), [0.0, 0.0, 0.0, 0.0], "No smaller size was run, so the runs cannot say whether"),
    ],
)
def test_what_the_runs_say_of_the_rule_for_the_pressure_tank(gallons, short, said):
    rule = _rules(_tanks(*gallons), "us", short_runs=short, pump_starts=[400.0, 200.0, 100.0, 100.0])[1]
    assert said in rule.here
    assert ("wears the pump" in rule.here) == (max(short[0] + short[1], short[2] + short[3]) >= 2.0)
    assert f"{gallons[0]} gal: " in rule.here and "of 300 pump runs a year under a minute" in rule.here
    assert rule.says.endswith(" gal of pressure tank")


def _units(*flows_gpm):
    return [changed_site.site(uv__rated_flow=f"{one} gpm") for one in flows_gpm]


@pytest.mark.parametrize(
    ("flows", "over", "days", "said"),
    [
        (
            (2, 12),
            [0.0005, 0.0005, 0.0, 0.0],
            [0.0] * 4,
            "2.00 gpm is under the peak and draws hardly ever pass it",
        ),
        (
            (2, 12),
            [0.3, 0.5, 0.0, 0.0],
            [9.0, 9.0, 0.0, 0.0],
            "Under the peak draws do pass the rating: it does not",
        ),
        ((15, 30), [0.0] * 4, [0.0] * 4, "No size under the peak was run, so the runs cannot say"),
        (
            (15, 30),
            [0.0] * 4,
            [0.0, 0.0, 1.0, 0.0],
            "Even 30.00 gpm had days below the dose target: not by flow alone.",
        ),
    ],
)
def test_what_the_runs_say_of_a_uv_unit_for_the_peak(flows, over, days, said):
    rule = _rules(_units(*flows), "us", over_uv_share=over, days_below_target=days)[2]
    assert said in rule.here
    assert ("not by flow alone" in rule.here) == (days[2] + days[3] > 0.0)  # of the largest alone
    assert f"{flows[0]}.00 gpm: {100 * (over[0] + over[1]) / 2:g} % of draws" in rule.here or over[0] < 0.001


def test_rules_are_held_against_the_way_of_the_choice():
    lines = _lines(policy=["a", "b", "b", "a"])
    assert judged(lines).index.tolist() == [0, 3]


def _held(monkeypatch, fails, values=None, items=()):
    """Hold designs of which it is said what each fails."""
    found = [[SimpleNamespace(key=key, state="fail") for key in one] for one in fails]
    found = [[*one, SimpleNamespace(key="fine", state="pass")] for one in found]
    monkeypatch.setattr(paper, "judged", lambda number, *_rest: found[number])
    made = [
        SimpleNamespace(values=() if values is None else values[k], design=SimpleNamespace(scenario=k))
        for k in range(len(fails))
    ]
    return paper.held(made, None, items)


def test_a_criterion_that_all_fail_puts_none_out(monkeypatch):
    found = _held(monkeypatch, [{"tap", "life"}, {"tap"}, {"tap", "life", "flow"}, {"tap"}])
    assert (found.left, found.thrown, found.shared, found.designs) == (
        (1, 3),
        {"flow": 1, "life": 2},
        ("tap",),
        4,
    )
    assert paper.paper_sentences(found) == [
        "Criteria put out 2 of 4 designs before any run: 1 on flow and 2 on life.",
        "Every design fails on tap: the design check says by how much.",
    ]
    assert paper.paper_sentences(_held(monkeypatch, [set(), set()])) == []
    assert paper.held([], None).left == () and paper.everything([1, 2]).left == (0, 1)


def test_what_a_quotation_does_not_say_decides_nothing(monkeypatch):
    item = SimpleNamespace(name="big bag", undecided=frozenset({"life"}))
    found = _held(monkeypatch, [{"life"}, {"life"}, set()], [("big bag",), ("small bag",), ()], [item])
    assert found.left == (0, 2) and found.thrown == {"life": 1}


def test_the_yield_of_a_roof_from_a_record_is_that_of_its_days_less_what_wets_the_roof():
    """Of 10 mm, 0.3 mm and none 9.6 mm run off 100 m2 at 0.8 on one day in three: 0.256 m3 a day."""
    roof = {"roof__area": "100 m2", "roof__coefficient": 0.8, "roof__wetting_loss": "0.4 mm"}
    days = np.arange(np.datetime64("2027-01-01"), np.datetime64("2027-01-04"))
    rain = RainRecord(days, np.array([0.0100, 0.0003, 0.0]), "0" * 64)
    assert yearly_roof_m3(changed_site.site(**roof), rain) == pytest.approx(0.256 * 365.25, rel=1e-12)
