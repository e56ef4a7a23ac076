"""What fixtures a house is counted to have for its design flow, by hand."""

from sim.scenario.read.load import load
from sim.study.check.design_flow import fixtures_of


def test_of_the_taps_one_is_the_kitchen_sink_and_a_hose_is_no_fixture():
    cottage = load("cottage")
    assert {use.fixture: use.fixtures for use in cottage.house.uses}["basins and kitchen sink"] == 4
    assert fixtures_of(cottage) == {
        "toilet": 2, "shower": 2, "kitchen sink": 1, "basin": 3, "clothes washer": 1, "dishwasher": 1,
    }  # fmt: skip


def test_a_single_tap_is_a_kitchen_sink_and_nothing_is_counted_that_is_not_there():
    cottage = load("cottage")
    uses = tuple(
        use.model_copy(
            update={"fixtures": 1 if use.fixture == "basins and kitchen sink" else 3 * use.fixtures}
        )
        for use in cottage.house.uses
    )
    found = fixtures_of(cottage.model_copy(update={"house": cottage.house.model_copy(update={"uses": uses})}))
    assert found == {"toilet": 6, "shower": 6, "kitchen sink": 1, "clothes washer": 3, "dishwasher": 3}
