"""What no gauge of any house shows is refused, and what one may show is taken, at the very limits."""

from datetime import date

import pytest

from sim.diary.entries import reading_of
from sim.errors import InputError
from sim.scenario.read.load import load

TODAY = date(2027, 6, 1)
HOUSE = load("family_house")


def read(name, result, unit):
    cells = {"phenomenon_time": "2027-05-14", "observed_property": name, "result": result, "unit": unit}
    return reading_of({**cells, "procedure": "", "note": ""}, HOUSE, TODAY)


@pytest.mark.parametrize(
    ("name", "unit", "least", "below", "most", "above"),
    [
        (
            "drop over sediment",
            "psi",
            "-1000",
            "-1001",
            "1000",
            "1001",
        ),  # gauges may be read the wrong way round
        ("pressure at cut-in", "psi", "0", "-0.5", "1000", "1001"),
        ("pressure at cut-out", "psi", "0", "-0.5", "1000", "1001"),
        ("pressure at rest", "psi", "0", "-0.5", "1000", "1001"),
        ("precharge", "psi", "0", "-0.5", "1000", "1001"),
        ("UV", "%", "0", "-1", "200", "201"),
        ("meter", "m3", "0", "-1", "10000000", "10000001"),
        ("cistern level", "m", "0", "-0.1", "50", "50.5"),
        ("cistern share", "%", "0", "-1", "100", "101"),
        ("lamp hours", "h", "0", "-1", "833333", "833334"),  # 95 years
        ("seconds to fill 10 L at the kitchen tap", "s", "1", "0.9", "3600", "3601"),
    ],
)
def test_a_reading_lies_where_a_gauge_can_show_it(name, unit, least, below, most, above):
    for at_a_limit in (least, most):
        assert read(name, at_a_limit, unit).observed == name
    for beyond in (below, above):
        with pytest.raises(InputError):
            read(name, beyond, unit)


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2027-05-14", "2027-05-14T09:00:00"),
        ("2027-05-14T07:30", "2027-05-14T07:30:00"),
        ("2027-05-13T07:30/2027-05-14T08:00", "2027-05-14T08:00:00"),  # an interval stands for its end
        (" 2027-05-14T07:30:00+02:00 ", "2027-05-14T07:30:00"),
    ],
)
def test_a_time_is_a_day_a_moment_or_the_end_of_an_interval(text, moment):
    cells = {"phenomenon_time": text, "observed_property": "UV", "result": "71", "unit": "%"}
    assert reading_of({**cells, "procedure": "", "note": ""}, HOUSE, TODAY).at.isoformat() == moment


@pytest.mark.parametrize("text", ["2027-05-12/2027-05-13/2027-05-14", "14.05.2027", "2027-06-03", "", "noon"])
def test_what_is_no_time_that_has_been_is_refused(text):
    cells = {"phenomenon_time": text, "observed_property": "UV", "result": "71", "unit": "%"}
    with pytest.raises(InputError):
        reading_of({**cells, "procedure": "", "note": ""}, HOUSE, TODAY)
