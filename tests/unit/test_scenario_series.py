"""Recorded series and built-in climates."""

import hashlib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import vega_datasets

from sim.demand.trace import from_record
from sim.errors import InputError
from sim.scenario.catchment import RainSource
from sim.scenario.climate import climates, table
from sim.scenario.read.draws import read_draws
from sim.scenario.read.series import read_rain
from sim.supply.rain import RainStatistics
from sim.units import GALLON_M3, GPM_M3_S, PSI_PA

SEATTLE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"
USES = ["toilet", "shower"]


@pytest.fixture
def rain_file(tmp_path):
    def write(text, encoding="utf-8"):
        path = tmp_path / "rain.csv"
        path.write_bytes(text.encode(encoding))
        return path

    return write


def test_four_years_at_an_airport():
    # vega_datasets 0.9.0, seattle-weather.csv: 1,461 rows, 4,426.0 mm, 623 wet days, counted with awk
    record = read_rain(SEATTLE, RainSource())
    assert record.dates.size == 1461
    assert (record.dates[0], record.dates[-1]) == (np.datetime64("2012-01-01"), np.datetime64("2015-12-31"))
    assert record.depth_m.sum() == pytest.approx(4.4260, abs=1e-9)
    assert (record.depth_m > 0).sum() == 623
    assert record.digest == hashlib.sha256(SEATTLE.read_bytes()).hexdigest()


@pytest.mark.parametrize(("unit", "metres"), [("mm", 0.001), ("cm", 0.01), ("in", 0.0254)])
def test_unit_of_depth(rain_file, unit, metres):
    path = rain_file("date,precipitation\n2021-01-01,1\n")
    assert read_rain(path, RainSource(depth_unit=unit)).depth_m.tolist() == [metres]


@pytest.mark.parametrize(
    ("form", "texts"),
    [
        (None, ("2020-02-28", "2020-02-29")),
        (None, ("2020/2/28", "2020/02/29")),
        ("%d.%m.%Y", ("28.02.2020", "29.02.2020")),
        ("%m/%d/%y", ("02/28/20", "02/29/20")),
    ],
)
def test_form_of_date(rain_file, form, texts):
    path = rain_file("day,mm\n" + "".join(f"{text},2.5\n" for text in texts))
    record = read_rain(path, RainSource(date_column="day", depth_column="mm", date_format=form))
    assert record.dates.tolist() == [date(2020, 2, 28), date(2020, 2, 29)]


def test_byte_order_mark_quotes_and_blank_lines_do_not_matter(rain_file):
    path = rain_file('\ufeffdate,note,precipitation\r\n\r\n2021-01-01,"a, b",1.5\r\n2021-01-02,,0\r\n')
    assert read_rain(path, RainSource()).depth_m.tolist() == [0.0015, 0.0]


def test_the_four_climates_fit_the_generator():
    assert climates() == ("humid continental", "marine west coast", "mediterranean", "temperate oceanic")
    for name in climates():
        statistics = RainStatistics(**table(name))
        assert statistics.shape.shape == (12,)


# Days a month times chance of rain times mean depth, against the mean of the record each table was fitted
# to (computed from the records): Seattle-Tacoma and New York 2012-2015, Brussels 1976-2005, Tunis 1979-2002.
# 1 %: the chain's monthly balance takes each month for itself.
@pytest.mark.parametrize(
    ("name", "record_m"),
    [
        ("marine west coast", 1.107),
        ("humid continental", 1.045),
        ("temperate oceanic", 0.841),
        ("mediterranean", 0.457),
    ],
)
def test_table_carries_the_rain_of_its_record(name, record_m):
    t = table(name)
    days = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    wet = t["p_wet_after_dry"] / (1 + t["p_wet_after_dry"] - t["p_wet_after_wet"])
    assert (days * wet * t["shape"] * t["scale_m"]).sum() == pytest.approx(record_m, rel=0.01)


def test_unknown_climate_offers_the_nearest():
    with pytest.raises(InputError, match="did you mean 'mediterranean'"):
        table("mediteranean")


@pytest.fixture
def draws(tmp_path):
    def read(text, start=date(2021, 1, 1)):
        path = tmp_path / "draws.csv"
        path.write_text(text)
        return read_draws(path, start, USES)

    return read


def test_draws_with_flow_and_duration(draws):
    told = draws("start,flow_gpm,at_psi,duration_s\n2021-01-02T00:01:00,2,45,30\n90,1.5,40,10\n")
    assert told["start_s"].tolist() == [86460.0, 90.0]
    assert told["use"].tolist() == [-1, -1]
    assert told["reference_pa"] == pytest.approx(45 * PSI_PA, rel=1e-12)
    # fixed orifice: 1.5 gpm at 40 psi is 1.5 sqrt(45/40) at 45 psi
    stated = [2 * GPM_M3_S, 1.5 * GPM_M3_S * np.sqrt(45 / 40)]
    assert told["flow_m3_s"] == pytest.approx(stated, rel=1e-12, abs=0.0)
    assert np.isnan(told["volume_m3"]).all()


def test_draws_by_use_with_duration_or_volume(draws):
    told = draws("start,use,duration_s,volume_gal\n0,shower,300,\n10,toilet,,1.28\n")
    assert told["use"].tolist() == [1, 0]
    assert np.isnan(told["flow_m3_s"]).all()
    assert told["duration_s"][0] == 300.0
    assert np.isnan(told["duration_s"][1])
    assert told["volume_m3"][1] == pytest.approx(1.28 * GALLON_M3, rel=1e-12)


def test_draws_make_a_trace(draws):
    told = draws("start,use,flow_l_min,at_kpa,volume_l,duration_s\n5,toilet,6,400,9,\n1,shower,9,100,,60\n")
    trace = from_record(**told, patience_s=600.0)
    assert trace.start_s.tolist() == [1.0, 5.0]
    # K = Q/sqrt(p): 9 L/min at 100 kPa
    assert trace.coefficient[0] == pytest.approx(1.5e-4 / np.sqrt(1e5), rel=1e-12, abs=0.0)
    assert trace.volume_m3.tolist() == [np.inf, pytest.approx(0.009)]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("start,duration_s\n0,1\n", "line 1: no column use or flow_gpm or flow_l_min"),
        ("start,flow_gpm,duration_s\n0,1,1\n", "no column at_psi or at_kpa"),
        ("start,use\n0,toilet\n", "no column duration_s or volume_gal or volume_l"),
        ("start,use,volume_gal,volume_l\n0,toilet,1,1\n", "both stand"),
        ("begin,use,duration_s\n0,toilet,1\n", "no column 'start'"),
        ("start,use,duration_s\n0,toillet,1\n", "line 2: use: read 'toillet'; did you mean 'toilet'?"),
        ("start,use,duration_s\n0,,1\n", "line 2: use: read ''"),
        ("start,use,duration_s\n0,toilet,-1\n", "line 2: duration_s: read '-1'"),
        ("start,use,duration_s\n0,toilet,0\n", "above 0"),
        ("start,use,duration_s\n0,toilet,\n", "line 2: duration_s: is blank"),
        ("start,use,duration_s,volume_l\n0,toilet,,\n", "line 2: wanted a duration or a volume"),
        ("start,use,duration_s,volume_l\n0,toilet,1,1\n", "line 2: wanted a duration or a volume"),
        ("start,use,duration_s\n2020-12-31T23:00,toilet,1\n", "wanted a time from 2021-01-01 on"),
        ("start,use,duration_s\n2021-01-31T07:30+01:00,toilet,1\n", "without a zone"),
        ("start,use,duration_s\n2021-13-31,toilet,1\n", "line 2: start: read '2021-13-31'"),
        ("start,use,duration_s\n-5,toilet,1\n", "line 2: start: read '-5'"),
        ("start,use,duration_s\n", "header line only"),
    ],
)
def test_draws_that_cannot_be_used(draws, text, said):
    with pytest.raises(InputError) as caught:
        draws(text)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def _days(first, last, depths=(), absent=(), mark=""):
    """Return the lines of a record, 1 mm a day; some days marked as missing, some without a line."""
    days = np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]").astype(str)
    lines = [f"{day},{mark if day in depths else 1}" for day in days if day not in absent]
    return "date,precipitation\n" + "\n".join(lines) + "\n"


@pytest.mark.parametrize("mark", ["", "-9999", "M"])
def test_years_with_missing_days_are_left_out_where_the_site_says_how_they_are_marked(rain_file, mark):
    text = _days("2001-06-01", "2005-03-01", depths=("2002-05-05",), absent=("2004-02-29",), mark=mark)
    record = read_rain(rain_file(text), RainSource(missing=mark))
    assert record.left_out == (2002, 2004)
    assert sorted({day.year for day in record.dates.tolist()}) == [2001, 2003, 2005]
    assert record.dates.size == record.depth_m.size == 214 + 365 + 60
    assert record.depth_m.tolist() == [0.001] * record.depth_m.size


def test_a_gap_over_new_year_takes_both_years(rain_file):
    text = _days("2001-01-01", "2004-12-31", absent=("2002-12-31", "2003-01-01"))
    assert read_rain(rain_file(text), RainSource(missing="")).left_out == (2002, 2003)


def test_a_record_without_gaps_loses_nothing_by_the_mark(rain_file):
    path = rain_file(_days("2001-06-01", "2003-03-01"))
    plain, marked = read_rain(path, RainSource()), read_rain(path, RainSource(missing="-99"))
    assert marked.left_out == plain.left_out == ()
    assert np.array_equal(marked.dates, plain.dates) and np.array_equal(marked.depth_m, plain.depth_m)


@pytest.mark.parametrize(
    ("text", "mark", "said"),
    [
        (_days("2001-01-01", "2002-12-31", absent=("2001-05-05",)), None, 'missing = "" under [rain]'),
        (_days("2001-01-01", "2002-12-31", depths=("2001-05-05",)), None, 'missing = "" under [rain]'),
        (
            _days("2001-01-01", "2001-12-31", absent=("2001-05-05",)),
            "",
            "each year, 2001 to 2001, lacks days",
        ),
        (_days("2001-01-01", "2002-12-31", depths=("2001-05-05",), mark="-99"), "-9999", "not below 0"),
        ("date,precipitation\n2001-01-02,1\n2001-01-01,1\n", "", "wanted days in order"),
        ("date,precipitation\n2001-01-01,1\n2001-01-01,1\n", "", "wanted each day once"),
    ],
)
def test_what_no_mark_excuses_is_refused(rain_file, text, mark, said):
    with pytest.raises(InputError) as refused:
        read_rain(rain_file(text), RainSource(missing=mark))
    assert said in str(refused.value)


@pytest.mark.parametrize("mark", ["0", "0.0", "-0", ".0"])
def test_a_dry_day_is_no_mark_of_a_missing_one(mark):
    with pytest.raises(ValueError, match="wanted the mark of a day nobody read"):
        RainSource(missing=mark)


@pytest.mark.parametrize(
    ("start", "said"),
    [
        ("2021-01-31", "has no time of day"),  # a day's total is no draw at midnight
        ("1609459200", "years from the start"),  # seconds of another clock
        ("1609459200000", "years from the start"),  # milliseconds: once past all that a calendar holds
        ("2071-02-01T00:00:00", "50 years from the start, 2021-01-01"),
    ],
)
def test_a_start_that_no_run_reaches_is_refused(tmp_path, start, said):
    path = tmp_path / "draws.csv"
    path.write_text(f"start,use,duration_s\n{start},toilet,3\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_draws(path, date(2021, 1, 1), USES)
    assert said in str(refused.value) and "wanted a date and time like" in str(refused.value)
