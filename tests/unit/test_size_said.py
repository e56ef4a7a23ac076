"""What is said of sizes: why no step up is told, how long equipment lasts."""

from types import SimpleNamespace

import pytest

from sim.report.html.size_report import piece_rows
from sim.study.search.catalogue import Piece
from sim.study.search.describe import Step
from sim.study.search.pool import DAYS_COUNTED, SPENT
from sim.study.size.size_words import step_lines
from sim.study.statistics.intervals import Interval


def test_no_step_says_why():
    none_named = SimpleNamespace(steps=(), found=SimpleNamespace(chosen=None))
    alone = SimpleNamespace(steps=(), found=SimpleNamespace(chosen=object()))
    assert step_lines(none_named, "USD", "us") == [
        "No design is named, so there is no step from it to tell of."
    ]
    (said,) = step_lines(alone, "USD", "us")
    assert said.startswith("No step to tell of: no two values")


def a_step(**gains):
    usual = {
        SPENT: -40.0,
        DAYS_COUNTED: -3.0,
        "tap_p5_pa": 0.0,
        "cistern_empty_days": 0.0,
        "cartridge_days": 0.0,
    }
    both = {
        name: Interval(x, x - 0.05 * abs(x), x + 0.05 * abs(x), 0.95, "made up", 12)
        for name, x in (usual | gains).items()
    }
    return Step("cistern", "4,000 gal", "8,000 gal", both, 0.99)


@pytest.mark.parametrize(
    ("gains", "said"),
    [
        ({}, "costs 40 ± 2.0 USD a year less, leaves 3.0 ± 0.15 fewer days a year below the dose target"),
        ({"cartridge_days": 0.9}, "fewer days a year below the dose target"),
        ({"cartridge_days": 30.0}, "dose target, a cartridge lasts 30 ± 1.5 days longer"),
        ({"cistern_empty_days": -7.0}, "dose target, 7.0 ± 0.35 fewer dry days a year"),
        ({"tap_p5_pa": 20e3}, "dose target, 2.9 ± 0.1 psi more at the tap when it is low"),
        ({"tap_p5_pa": 300.0}, "fewer days a year below the dose target"),  # nothing in the digits shown
    ],
)
def test_a_step_says_what_it_buys_and_not_what_it_leaves_as_it_is(gains, said):
    (line,) = step_lines(SimpleNamespace(steps=[a_step(**gains)]), "USD", "us")
    assert line.startswith("From 4,000 gal to 8,000 gal: costs 40") and line.endswith(f"{said} (12 runs).")


def test_a_life_is_said_to_a_tenth_of_a_year():
    pump, vessel = (
        Piece("pump", 480.0, 12.42013, stated=False),
        Piece("pressure tank", 653.0, 12.0, stated=True),
    )
    assert piece_rows([pump, vessel]) == [["pump", "480", "12.4", "39"], ["pressure tank", "653", "12", "54"]]
