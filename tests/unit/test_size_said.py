"""What is said of sizes: why no step up is told, how long equipment lasts."""

from types import SimpleNamespace

from sim.report.html.size_report import piece_rows
from sim.study.search.catalogue import Piece
from sim.study.size.size_words import step_lines


def test_no_step_says_why():
    none_named = SimpleNamespace(steps=(), found=SimpleNamespace(chosen=None))
    alone = SimpleNamespace(steps=(), found=SimpleNamespace(chosen=object()))
    assert step_lines(none_named, "USD", "us") == [
        "No design is named, so there is no step from it to tell of."
    ]
    (said,) = step_lines(alone, "USD", "us")
    assert said.startswith("No step to tell of: no two values")


def test_a_life_is_said_to_a_tenth_of_a_year():
    pump, vessel = (
        Piece("pump", 480.0, 12.42013, stated=False),
        Piece("pressure tank", 653.0, 12.0, stated=True),
    )
    assert piece_rows([pump, vessel]) == [["pump", "480", "12.4", "39"], ["pressure tank", "653", "12", "54"]]
