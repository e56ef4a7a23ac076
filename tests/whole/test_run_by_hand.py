"""Runs short and plain enough to be worked out by hand: tasks, films, clogging, one storm, a failed lamp."""

import math

import numpy as np
import pytest

from sim.plant import state
from sim.twin.run import run

DAY = 86400.0
NAN = math.nan
# Nothing but what a test puts in: no cuts, leak, wear, drift, colour or dirt; water at 20 C all year.
STILL = {
    "power": {"saifi": 0.0},
    "house": {"leak": "0 L/d"},
    "pressure_switch": {"drift": "0 psi/yr"},
    "pressure_tank": {"precharge_loss": "0 %/yr", "bladder_life": "1000 yr"},
    "pump": {"wear": "0 %/yr", "life": "1000 yr", "life_age": "1000 yr", "life_starts": 1e9},
    "roof": {
        "dust_limit": "0 g/m2",
        "dust_base": "0 mg/L",
        "colour_limit_mm_per_m": 0.0,
        "colour_base": "0 1/m",
        "gutter_decay": "0 1/yr",
    },
    "people": {
        "adherence": 1.0,
        "delay": "0 d",
        "repair_delay": "0 d",
        "technician_other_jobs_per_year": 0.0,
        "technician_lead": "0 d",
    },
}
WATER = {
    "start_solids": "0 mg/L",
    "start_colour": "0 1/m",
    "start_sludge": "0 g/m2",
    "water_mean": "20 C",
    "water_swing_k": 0.0,
    "top_up_below": 0.0,
    "capacity": "40 m3",
    "floor": "12 m2",
    "start_fill": 0.9,
    "low_draw": "0 1/m3",
    "colour_decay": "0 1/yr",
}
UV = {
    "sensor_reference": "0 1/cm",
    "film_spread": 0.0,
    "lamp_life": "1000 yr",
    "lamp_life_shape": 1.0,
    "output_at_end": "70 %",
    "rated_life": "9000 h",
    "burn_in": "100 h",
    "burn_in_loss": "5 %",
    "wiped": "95 %",
    "residue": "10 %",
    "optimum_from": "10 C",
    "alarm": "60 %",
}


def _house(tiny, **more):
    tables = {**STILL, "cistern": WATER, "uv": UV}
    for name, table in more.items():
        tables[name] = {**tables.get(name, {}), **table} if isinstance(table, dict) else table
    return tiny(**tables)


def _days(history, kind, subject=None):
    return [e.time_s / DAY for e in history.events if e.kind == kind and subject in (None, e.subject)]


def _nothing(common_days):
    return {"rain_m": np.zeros(common_days)}


def test_nothing_done_does_and_buys_nothing(tiny, short):
    scenario = tiny()
    policy = next(p for p in scenario.policies if p.name == "nothing done")
    history = run(scenario, policy, short(scenario, 365))
    kinds = {event.kind for event in history.events}
    assert not kinds & {"task", "visit", "reading", "order"}
    assert history.costs.parts == history.costs.labour == history.costs.callouts == 0.0
    assert history.costs.cartridges == history.costs.visits == 0


@pytest.mark.parametrize(("by", "hour"), [("owner", 10.0), ("technician", 9.0)])
def test_the_calendar_is_kept(tiny, short, policy, by, hour):
    # Due 30 days after it was last done; done in the first working hour after that, 90 minutes of work (table
    # of tasks).
    scenario = _house(tiny)
    one = policy({"task": "clear gutters and diverter", "when": "calendar", "every": "30 d", "by": by})
    history = run(scenario, one, short(scenario, 300, **_nothing(300)))
    done = np.array(_days(history, "task"))
    wanted, last = [], 0.0
    while True:
        due = last + 30.0
        start = math.floor(due) + hour / 24 + (1.0 if due % 1.0 > hour / 24 else 0.0)
        last = start + 1.5 / 24
        if last > 300.0:
            break
        wanted.append(last)
    np.testing.assert_allclose(done, wanted, atol=1e-6)
    # The rhythm itself: an interval of 30 days is kept to a day.
    assert (np.diff(done) >= 30.0 - 1e-9).all()
    assert (np.diff(done) <= 31.0 + 1e-9).all()


@pytest.mark.parametrize("valve", [False, True])
def test_a_failed_lamp_stays_dark_until_replaced(tiny, short, policy, valve):
    # Weibull shape 1: life = scale x draw. 24 h x 5 lit days; the next lamp outlives the run.
    scenario = _house(
        tiny,
        uv={**UV, "lamp_life": "24 h", "shutoff_valve": valve, "start_wear": "0 h"},
        people={"technician_lead": "6 d"},
    )
    rule = {"task": "replace lamp", "when": "failure", "by": "technician"}
    common = short(scenario, 40, **_nothing(40))
    common.lives["lamp"][:] = 1e6
    common.lives["lamp"][0] = 5.0
    history = run(scenario, policy(rule), common)
    (failed,), (replaced,) = _days(history, "failure", "lamp"), _days(history, "task", "replace lamp")
    assert failed == pytest.approx(5.0, abs=1e-9)
    assert failed + 6.0 <= replaced <= failed + 8.0
    assert _days(history, "alarm", "UV")[0] == pytest.approx(failed, abs=1e-9)
    dark = slice(int(failed), math.floor(replaced))
    assert history.alarm_days[dark].all()
    below, supplied = history.days[:, state.BELOW_TARGET], history.days[:, state.SUPPLIED]
    if valve:
        assert supplied[dark].sum() == below.sum() == 0.0
        assert history.days[dark, state.WATER_OFF] == pytest.approx(DAY, rel=1e-9)
    else:
        assert (supplied[dark] > 0.01).all()
        np.testing.assert_allclose(below[dark], supplied[dark], rtol=1e-9)
        assert (history.days[dark, state.DOSE_LEAST] == 0.0).all()
        assert history.dose_volume_m3[0] == pytest.approx(below.sum(), rel=1e-9)
    after = slice(math.ceil(replaced), 40)
    assert below[: int(failed)].sum() == below[after].sum() == 0.0
    assert not history.alarm_days[after].any()


def _lamp(lit_days):
    """Output of the lamp by hand: 5 % burn-in over 100 h, 70 % at 9,000 h."""
    hours = lit_days * 24.0
    tau = -9000.0 / math.log(0.70 / 0.95)
    return math.exp(-hours / tau) * (1.0 - 0.05 * (1.0 - math.exp(-hours / 100.0)))


def test_uv_reading_falls_as_films_and_lamp_say(tiny, short, policy):
    scenario = _house(tiny, uv={**UV, "sleeve_film": "1.3 1/yr", "window_film": "0.9 1/yr"})
    history = run(scenario, policy(), short(scenario, 100, **_nothing(100)))
    ends = np.arange(1.0, 101.0)
    wanted = [math.exp(-(1.3 + 0.9) * t / 365.25) * _lamp(t) for t in ends]
    # At the end of the last day exactly; on the days before, what stood when the day was noted.
    assert history.uv_reading[-1] == pytest.approx(wanted[-1], rel=1e-9)
    np.testing.assert_allclose(history.uv_reading, wanted, rtol=1e-9)


def test_wiping_brings_the_reading_back(tiny, short, policy):
    # Both wiped once after 60 days; 95 % of the film goes, so exp(-0.05 m) of each is left.
    scenario = _house(tiny, uv={**UV, "sleeve_film": "1.3 1/yr", "window_film": "0.9 1/yr"})
    rules = [
        {"task": task, "when": "calendar", "every": "60 d"} for task in ("wipe sleeve", "wipe sensor window")
    ]
    history = run(scenario, policy(*rules), short(scenario, 100, **_nothing(100)))
    done = _days(history, "task")
    assert len(done) == 2
    dark = (25.0 + 10.0) / 1440.0  # minutes unplugged, table of tasks
    left = 0.05 * (1.3 + 0.9) * 60.0 / 365.25
    since = 100.0 - done[0] - dark / 2
    wanted = math.exp(-left - 2.2 * since / 365.25) * _lamp(100.0 - dark)
    assert history.uv_reading[-1] == pytest.approx(wanted, rel=1e-3)  # hours of film during the day of wiping
    assert history.uv_reading[61] > 0.97 * _lamp(62.0)
    assert history.uv_reading[59] < 0.72 * _lamp(60.0)


@pytest.mark.parametrize(
    ("law", "plateau"),
    [("complete", 0.0), ("standard", 0.0), ("intermediate", 0.2), (0.5, 0.3), ("cake", 0.0)],
)
def test_a_constant_feed_clogs_by_arithmetic(tiny, short, policy, metered, law, plateau):
    # One stage rated 3 um at 85 %, all grains in the class below 5 um (3 um), 20 mg/L in the cistern, 1 m3 a
    # day: 0.85 x 0.020 kg/m3 x 1 m3/d = 17 g a day, so a capacity of 340 g is reached after 20 days.
    stages = [
        {
            "name": "sediment",
            "rating": "3 um",
            "dirt_capacity": "340 g",
            "law": law,
            "plateau": plateau,
            "capacity_cv": 0.0,
            "terminal_rise": "10 psi",
            "rated_flow": "10 gpm",
            "clean_linear": "0.1 psi/gpm",
            "age_limit": "10 yr",
            "collapse": "900 psi",
        },
        {"name": "carbon", "clean_linear": "0.001 psi/gpm", "rating": "1 mm", "dirt_capacity": "1000 kg"},
    ]
    scenario = _house(
        tiny,
        stage=stages,
        gauge={"reading_flow": "10 gpm"},
        roof={**STILL["roof"], "grain_median": "1 um", "grain_spread": 1.2},
        cistern={**WATER, "start_solids": "20 mg/L", "start_fill": 1.0, "grain_density": "1000.1 kg/m3"},
    )
    rows = [[(day + 0.05 + 0.1 * i) * DAY, 2e-4, NAN, 0.1] for day in range(21) for i in range(9)]
    rows += [[(day + 0.97) * DAY, 2e-4, NAN, 0.1] for day in range(21)]
    common = short(scenario, 21, draws=metered(rows), **_nothing(21))
    history = run(scenario, policy(), common)
    supplied = history.days[:, state.SUPPLIED]
    np.testing.assert_allclose(supplied[:20], 1.0, rtol=1e-6)
    # What was pumped, and what settled meanwhile: Stokes at 3 um, 1000.1 against 998.2 kg/m3, 1.002 mPa s, 12
    # m2.
    settling = 9.80665 * (1000.1 - 998.2) * (3e-6) ** 2 / (18 * 1.0016e-3) * 12.0 * DAY  # m3 a day
    start = 40.0
    pumped = start - history.cistern_m3
    caught = 0.85 * 0.020 * start * (1 - (1 - pumped / start) ** (settling + 1.0)) / (settling + 1.0)
    x = caught / 0.340
    ratio = 1.0 + 10.0 / (0.1 * 10.0)
    y = np.maximum(x - plateau, 0.0) / (1.0 - plateau)
    grown = {
        "complete": 1 / (1 - (1 - 1 / ratio) * y),
        "standard": (1 - (1 - ratio**-0.5) * y) ** -2,
        "intermediate": ratio**y,
        0.5: (1 + (ratio**0.5 - 1) * y) ** 2,
        "cake": 1 + (ratio - 1) * y,
    }[law]
    clean = (0.1 * 10 + 0.01 * 100) * 6894.757
    rise = (history.drops_pa[:, 0] - clean) / 6894.757
    assert x[19] == pytest.approx(
        1.0, abs=0.02
    )  # the pressure tank fills on the first day, some grains settle
    # A day later the complete law lets less than the reading flow through at cut-in.
    np.testing.assert_allclose(rise[:20], grown[:20] - 1.0, rtol=2e-3, atol=1e-4)
    # Where the load is 1 the rise is the terminal 10 psi, whatever the law.
    assert np.interp(1.0, x, rise) == pytest.approx(10.0, rel=0.01)


def test_one_storm_by_hand(tiny, short, policy, metered):
    # 40 m2 of roof. Dirt starts at half its limit and closes a tenth of a time constant a day; the storm of
    # 20 mm comes with the sixth day. Runoff 0.85 (20 - 0.4) mm; the first 0.5 mm is diverted and takes its
    # dirt along.
    roof = {
        "area": "40 m2",
        "dust_limit": "2.5 g/m2",
        "dust_time": "10 d",
        "dust_base": "4 mg/L",
        "dust_washoff": "0.7 1/mm",
        "colour_limit_mm_per_m": 6.0,
        "colour_base": "2.5 1/m",
        "gutter_decay": "0 1/yr",
        "first_flush": "0.5 mm",
        "wetting_loss": "0.4 mm",
        "coefficient": 0.85,
    }
    scenario = _house(tiny, roof=roof, cistern={**WATER, "start_fill": 0.5})
    rain = np.zeros(10)
    rain[5] = 0.020
    common = short(scenario, 10, draws=metered([[20 * DAY, 1e-4, 10.0, NAN]]), rain_m=rain)
    history = run(scenario, policy(), common)
    runoff = 0.85 * 19.6  # mm
    kept = runoff - 0.5
    share = 1.0 - 0.5 * math.exp(-6.0 / 10.0)
    flushed, washed = math.exp(-0.7 * 0.5), -math.expm1(-0.7 * kept)
    dust_kg = 40.0 * (2.5e-3 * share * flushed * washed + 4e-3 * kept * 1e-3)
    colour = 40.0 * (6.0e-3 * share * flushed * washed + 2.5 * kept * 1e-3)
    found = {balance.name: balance for balance in history.balances}
    grains = [balance for name, balance in found.items() if name.startswith("solids")]
    assert found["water"].came_in == pytest.approx(40.0 * kept * 1e-3, rel=1e-12)
    assert sum(b.came_in for b in grains) == pytest.approx(dust_kg, rel=1e-12)
    assert sum(b.stored for b in grains) == pytest.approx(dust_kg, rel=1e-12)
    assert found["colour"].came_in == pytest.approx(colour, rel=1e-12)
    assert found["colour"].stored == pytest.approx(colour, rel=1e-12)
    assert found["water"].house == sum(b.house for b in grains) == 0.0
    assert history.cistern_m3[9] - history.cistern_m3[4] == pytest.approx(40.0 * kept * 1e-3, rel=1e-12)
    # Absorbance of the mixed cistern after the storm, by hand: what colour is left in the carbon's reach is
    # the carbon's.
    tint = colour / history.cistern_m3[9]
    assert history.absorbance_per_m[9] < tint + 100.0 * dust_kg / history.cistern_m3[9]
    assert history.absorbance_per_m[9] > 0.6 * tint
