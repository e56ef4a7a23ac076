"""What is written is taken as written, or refused: 245 sites, and 54 files of rain, draws and readings."""

import math
import tomllib
from datetime import date
from functools import cache, reduce

import pytest

from sim.diary.entries import reading_of, said
from sim.diary.read import tables as readings
from sim.errors import InputError
from sim.scenario.catchment import RainSource
from sim.scenario.read import load
from sim.scenario.read.draws import read_draws
from sim.scenario.read.included import with_included
from sim.scenario.read.merge import merged
from sim.scenario.read.series import read_rain
from tests.hostile.attack import assert_one_line

# A plain number is a number, a truth is a truth, a quantity has a unit of its kind, a date is a date.
NUMBERS = ["years", "house.people", "house.guests", "house.weekend_ratio", "people.owner_hour"]
NUMBERS += ["prices.tanker_m3", "pump.life_starts", "pump.life_shape", "goals.limit_days_below_target"]
NO_NUMBERS = ["true", "false", '"4"', '"4.0"', '"no"', '""', "[]", "[4]", "{a = 4}", '"4 psi"', "nan", "inf"]
NO_NUMBERS += ["-inf", "1979-05-27", "-4"]
TRUTHS = ["uv.shutoff_valve", "cistern.calmed_inlet", "people.slips.on", "sample.acted_on"]
NO_TRUTHS = ["0", "1", "1.0", '"true"', '"yes"', '"no"', '""', "[]", "[true]"]
QUANTITIES = {"cistern.capacity": "m3", "cistern.top_up": "m3", "roof.area": "m2", "cistern.floor": "m2"}
QUANTITIES |= {
    "pressure_switch.cut_in": "kPa",
    "uv.target": "J/m2",
    "people.delay": "d",
    "uv.rated_flow": "L/min",
}
NO_QUANTITIES = [
    "true",
    "4",
    '"4"',
    '"1,5 U"',
    '"1.000,5 U"',
    '"1.5.2 U"',
    '"nan U"',
    '"U"',
    '"4 U x"',
    '"-4 U"',
]
NO_QUANTITIES += ['"4 lightyears"', '"4 W"', '"1e999 U"', '["4 U"]']
DATES = [
    "0",
    "1609459200",
    '"1609459200"',
    "2021-01-01T00:00:00",
    '"01.02.2021"',
    '"2021-02-30"',
    "true",
    '""',
]
REFUSED = [(key, text) for key in NUMBERS for text in NO_NUMBERS]
REFUSED += [(key, text) for key in TRUTHS for text in NO_TRUTHS] + [("start", text) for text in DATES]
REFUSED += [(key, text.replace("U", unit)) for key, unit in QUANTITIES.items() for text in NO_QUANTITIES]
TAKEN = [
    ("years", "3", 3), ("house.people", "2.5", 2.5), ("people.owner_hour", "0", 0.0),
    ("start", "2020-02-29", date(2020, 2, 29)),
    ("uv.shutoff_valve", "true", True), ("cistern.calmed_inlet", "false", False),
    ("cistern.capacity", '"9_000 L"', 9.0),
    ("roof.area", '"1e2 m2"', 100.0), ("people.delay", '"2 d"', 172800.0),
    ("pressure_switch.cut_in", '"276 kPa"', 276e3),
]  # fmt: skip


@cache
def base():
    return load.tables('extends = "cottage"\nname = "x"\nsummary = "y"\n', "me.toml")


def site(text):
    return load.checked(with_included(merged(base(), tomllib.loads(text))), "me.toml")


def at(scenario, key):
    """Return the value of a key; fields are named for it, with their unit."""

    def step(part, name):
        fields = type(part).model_fields
        return getattr(part, next(f for f, info in fields.items() if (info.alias or f) == name))

    return reduce(step, key.split("."), scenario)


@pytest.mark.parametrize("key", list(dict.fromkeys(key for key, _ in REFUSED)))
def test_what_only_looks_like_it_is_refused(key):
    for text in (text for one, text in REFUSED if one == key):
        with pytest.raises(InputError) as caught:
            site(f"{key} = {text}\n")
            pytest.fail(f"{key} = {text} was taken")
        assert_one_line(str(caught.value), f"me.toml: {key}")


@pytest.mark.parametrize(("key", "text", "value"), TAKEN)
def test_what_is_right_is_taken_as_it_is_written(key, text, value):
    found = at(site(f"{key} = {text}\n"), key)
    assert type(found) is type(value)
    assert found == pytest.approx(value, rel=1e-12) if isinstance(value, float) else found == value


RULES = '[[policy]]\nname = "mine"\nreading_every = "7 d"\n'
WIPE = '[[policy.rule]]\ntask = "wipe sleeve"\nwhen = "calendar"\nevery = "60 d"\n'
READ = '[[policy.rule]]\ntask = "{}"\n{}when = "reading"\n{}\n'
FOUND = [
    ("stage = []\n", "stage: read an empty list, which takes none of the 2 away"),
    ("[house]\nuse = []\n", "use: read an empty list"),
    ("policy = []\n", "policy: read an empty list"),
    ('[[task]]\nname = "wipe sleeve"\nstep = []\n', "step: read an empty list"),
    (RULES + WIPE + WIPE, "rule[2]: is rule[1] once more, 'wipe sleeve'; wanted each rule once"),
    (RULES + READ.format("wipe sleeve", "", 'uv_below = "-50 %"'), "uv_below: read '-50 %'; wanted above 0"),
    (
        RULES + READ.format("wipe sleeve", "", 'uv_below = "150 %"'),
        "uv_below: read '150 %'; wanted at most 1",
    ),
    (RULES + READ.format("wipe sleeve", "", "uv_below = 60"), "uv_below: read 60; wanted at most 1"),
    (
        RULES + READ.format("restore precharge", "", 'precharge_off = "-4 psi"'),
        "precharge_off: read '-4 psi'; wanted above 0",
    ),
    (
        RULES + READ.format("change cartridge", 'stage = "carbon"\n', 'drop_above = "-9 psi"'),
        "drop_above: read '-9 psi'; wanted above 0",
    ),
    (RULES + READ.format("replace lamp", "", 'precharge_off = "4 psi"'), "never calls for 'replace lamp'"),
    (
        "[people.slips]\ntrained = 0.2\n",
        "people.slips: read 0.05, 0.2, 0.003 for untrained, trained, licensed",
    ),
    ("[people.slips]\nuntrained = 0\n", "wanted no level below the next"),
    ("[people]\nowner_hour = 1e12\n", "people.owner_hour: read 1000000000000.0; wanted at most 1e+09"),
    (
        '[[equipment]]\npart = "pump"\nprice = 1e12\nlife = "9 yr"\n',
        "equipment[pump].price: read 1000000000000.0; ",
    ),
    (
        '[[slip]]\nname = "valve left shut"\nprice = 1e12\n',
        "price: read 1000000000000.0; wanted at most 1e+09",
    ),
    ("[sample]\nprice = 1e12\n", "sample.price: read 1000000000000.0; wanted at most 1e+09"),
    ('[[stage]]\nname = "Carbon"\nlike = "carbon"\n', "'carbon' and 'Carbon' differ by blanks or case alone"),
    ('[[policy]]\nname = "nothing  done"\n', "differ by blanks or case alone"),
    ('[[house.use]]\nname = "Shower"\nlike = "shower"\n', "'shower' and 'Shower' differ by blanks or case"),
    ('[people]\ndelay_s = "2 d"\n', "people.delay_s: is not a known key"),
]


@pytest.mark.parametrize(("text", "told"), FOUND)
def test_what_was_once_taken_for_something_else(text, told):
    with pytest.raises(InputError) as caught:
        load.load_text(f'extends = "cottage"\n{text}', "me.toml")
    assert_one_line(str(caught.value), "me.toml: ")
    assert told in str(caught.value)


PARTS = ("roof", "cistern", "pump", "pressure_switch", "pressure_tank", "gauge", "uv", "house", "power")
PARTS += ("people", "prices", "goals")


def test_no_number_may_be_endless_nor_below_zero_but_for_a_few():
    signed = {"height", "lift", "lowest_tap", "altitude", "drift", "optimum_from"}  # either way
    for part in ("roof", "cistern", "pump", "pressure_switch", "pressure_tank", "gauge", "uv", "house",
    "power",
                 "people", "prices", "goals"):  # fmt: skip
        for key, value in base()[part].items():
            if isinstance(value, bool | dict | list) or key in signed or not _number(value):
                continue
            for number in ("-1", "1e30"):
                text = f'"{number} {value.partition(" ")[2]}"' if isinstance(value, str) else number
                with pytest.raises(InputError, match="wanted"):
                    site(f"{part}.{key} = {text}\n")
                    pytest.fail(f"{part}.{key} = {text} was taken")


def _number(value):
    return not isinstance(value, str) or value.partition(" ")[0].replace(".", "").isdigit()


DAY, RAIN = "date,precipitation\n2021-01-01,", "date,precipitation"
RAINS = [  # a file, and the depths it holds [mm]; None where it is refused
    (DAY + "1.5\n", [1.5]), (DAY + "1,5\n", None), (DAY + '"1,5"\n', None), (DAY + '"1"5\n', None),
    (DAY + "1.5,\n", None), (DAY + "1 5\n", None), (DAY + "1_5\n", None), (DAY + "1.5mm\n", None),
    (DAY + "0x10\n", None), (DAY + "1e1\n", [10.0]), (DAY + "+2\n", [2.0]), (DAY + ".5\n", [0.5]),
    (DAY + "1\u00a05\n", None), (DAY + "\u0663\n", None), (DAY + "-0.1\n", None), (DAY + "trace\n", None),
    (DAY + "\n", None), (DAY + "1'5\n", None), (DAY + "1.234,5\n", None), (DAY + "TRUE\n", None),
    ("date;precipitation\n2021-01-01;1,5\n", None), ("date\tprecipitation\n2021-01-01\t1\n", None),
    (f"{RAIN},precipitation\n2021-01-01,1,9\n", None), (f"{RAIN},Precipitation\n2021-01-01,1,9\n", None),
    (f"{RAIN},note\n2021-01-01,1,5,\n", None), (f"{RAIN},note\n2021-01-01,1,wet\n", [1.0]),
    (f"{RAIN},,\n2021-01-01,1,,\n", [1.0]), (f"date,{RAIN}\n2021-01-01,2021-01-02,1\n", None),
    (f'{RAIN}\n"2021-01-01,1\n', None), (f"\ufeff{RAIN}\r\n2021-01-01,3\r\n", [3.0]),
    (f"{RAIN}\n2021-01-01,1\n\n2021-01-02,2\n", [1.0, 2.0]),
    (f"{RAIN}\n2021-01-01,1\n2021-01-02,2,5\n", None),
]  # fmt: skip
DRAW = "start,use,duration_s\n"
DRAWS = [  # and seconds of their starts and durations
    (DRAW + "0,tap,30\n", [(0, 30)]), (DRAW + "0,tap,30,5\n", None), (DRAW + '0,tap,"30,5"\n', None),
    (DRAW + "0,Tap,30\n", None), (DRAW + "0, tap ,30\n", [(0, 30)]),
    (DRAW + "2021-01-02,tap,30\n", None), (DRAW + "2021-01-02 00:00,tap,30\n", [(86400, 30)]),
    (DRAW + "2021-01-01T00:01,tap,1e1\n", [(60, 10)]), (DRAW + "01/02/2021,tap,30\n", None),
    (DRAW + "2021-01-01T07:00Z,tap,30\n", None), (DRAW + "2020-12-31,tap,30\n", None),
    (DRAW + "-1,tap,30\n", None), (DRAW + "0,tap,true\n", None),
    ("start,use,duration_s,duration_s\n0,tap,30,60\n", None),
    ("start,use,duration_s,start\n0,tap,30,9\n", None),
]  # fmt: skip
READ_AT = "phenomenon_time,observed_property,result,unit\n2021-01-01,UV,"
READINGS = [  # and the share of light they read
    (READ_AT + "71,%\n", 0.71), (READ_AT + "71,5,%\n", None), (READ_AT + '"71,5",%\n', 0.715),
    (READ_AT + '"71,512",%\n', None), (READ_AT + "0x47,%\n", None), (READ_AT + "true,%\n", None),
    ("date,UV [%],UV [%]\n2021-01-01,71,72\n", None), ("date,UV [%]\n2021-01-01,71,5\n", None),
]  # fmt: skip


def outcome(call, path):
    """Return what a call gives; None where it is refused in one line that names the file."""
    try:
        return call()
    except InputError as error:
        assert_one_line(str(error), path.name)
        return None


@pytest.fixture
def file(tmp_path):
    def write(text):
        (tmp_path / "me.csv").write_text(text, encoding="utf-8", newline="")
        return tmp_path / "me.csv"

    return write


@pytest.mark.parametrize(("text", "depths"), RAINS)
def test_a_file_of_rain_is_not_misread(file, text, depths):
    path = file(text)
    found = outcome(lambda: read_rain(path, RainSource()), path)
    assert (None if found is None else (1e3 * found.depth_m).tolist()) == pytest.approx(depths)


@pytest.mark.parametrize(("text", "starts"), DRAWS)
def test_a_file_of_draws_is_not_misread(file, text, starts):
    path = file(text)
    found = outcome(lambda: read_draws(path, date(2021, 1, 1), ["tap"]), path)
    pairs = None if found is None else list(zip(found["start_s"], found["duration_s"], strict=True))
    assert pairs == starts


@pytest.mark.parametrize(("text", "share"), READINGS)
def test_a_file_of_readings_is_not_misread(file, text, share, tmp_path):
    path, scenario = file(text), load.load("cottage")

    def one():
        (place, cells), *more = readings.rows_of(path, scenario).readings
        assert not more
        try:
            return reading_of(cells, scenario, date(2021, 6, 1)).value
        except InputError as error:
            raise said(error, place) from None

    assert outcome(one, path) == (None if share is None else pytest.approx(share))


def test_there_are_as_many_as_are_told():
    assert len(REFUSED) + len(TAKEN) + len(FOUND) >= 245
    assert len(RAINS) + len(DRAWS) + len(READINGS) >= 54
    assert not any(math.isnan(depth) for _, depths in RAINS for depth in depths or ())
