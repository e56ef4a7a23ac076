"""Why no water came, as the loop books it: power, pump, cistern; and what is booked once water is back."""

import math

import pytest

from sim.plant import cause, state


def off_s(house):
    """Seconds without water by cause."""
    seconds = house.causes[:, :, cause.OFF].sum(axis=0)
    return {code: float(one) for code, one in enumerate(seconds) if one > 0.0}


@pytest.mark.parametrize(
    ("fields", "cistern_m3", "cuts", "wanted"),
    [
        ({}, 30.0, [[100.0, 9000.0]], cause.POWER_CUT),
        ({"pump_works": 0, "why_pump": cause.PUMP_BROKEN}, 30.0, [], cause.PUMP_BROKEN),
        ({"pump_works": 0, "why_pump": cause.VALVE_SHUT}, 30.0, [], cause.VALVE_SHUT),
        ({}, 1.4, [], cause.CISTERN_EMPTY),
        # Where two stand at once the one nobody could have helped comes first.
        ({"pump_works": 0, "why_pump": cause.PUMP_BROKEN}, 1.4, [[100.0, 9000.0]], cause.POWER_CUT),
        ({"pump_works": 0, "why_pump": cause.PUMP_BROKEN}, 1.4, [], cause.PUMP_BROKEN),
    ],
)
def test_taps_run_dry_for_what_keeps_the_pump_from_running(plant, tap, fields, cistern_m3, cuts, wanted):
    house = plant(**fields)
    house.s["cistern_m3"] = cistern_m3
    house.draw([[50.0, tap(4), 8000.0, math.inf]]).run(8000.0, cuts=cuts or None)
    assert list(off_s(house)) == [wanted]
    assert off_s(house)[wanted] == pytest.approx(house.day(state.WATER_OFF), rel=1e-12)


def test_once_full_again_the_last_cause_is_forgotten(plant, tap):
    """A cut empties the tank; what is still missing as the pump fills it is booked to the cut."""
    house = plant(why_clogged=cause.CLOGGED)
    house.draw([[50.0, tap(9), 4000.0, math.inf]]).run(9000.0, cuts=[[100.0, 3000.0]])
    assert list(off_s(house)) == [cause.POWER_CUT]
    assert off_s(house)[cause.POWER_CUT] > 3000.0 - 100.0 - 900.0
    assert house.s["why_low"][0] == cause.NONE


def test_a_log_that_is_full_says_so_and_goes_on_when_it_is_longer(plant, tap):
    from sim.plant import loop  # noqa: PLC0415

    rows = [[0.0, tap(5), 20000.0, math.inf]]
    whole = plant().draw(rows).run(20000.0)
    house = plant().draw(rows)
    short = house.log[:3].copy()
    tables = (house.s[0], house.p[0], house.got, house.cuts, house.days, house.causes)
    assert loop.advance(20000.0, *tables, short, house.trace) == state.LOG_FULL
    assert int(house.s["pump_rows"][0]) == 2
    longer = short
    while loop.advance(20000.0, *tables, longer, house.trace) == state.LOG_FULL:
        longer = loop.lengthened(longer)
    runs = longer[: int(house.s["pump_rows"][0])]
    assert runs.tolist() == whole.runs.tolist() and len(runs) > 3
