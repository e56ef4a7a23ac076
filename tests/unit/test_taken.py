"""What a command took, in words and as plain data; each by hand."""

from datetime import date

import numpy as np

from sim.scenario.read.series import RainRecord
from sim.study.taken import lines, of_draws, of_rain

DAY = 86400.0
RAIN = {
    "file": "rain.csv", "rows": 731, "first": "2023-01-01", "last": "2024-12-31", "total_mm": 1234.6,
    "years_used": [2023, 2024], "years_dropped": [],
}  # fmt: skip
DRAWS = {
    "file": "meter.csv", "rows": 1200, "first": "2024-01-01", "last": "2024-03-31", "litres_a_day": 480.0,
    "repeated": False,
}  # fmt: skip


def told(**more):
    return lines({"site": {"name": "mine.toml"}, "climate": "mediterranean", "options": {}} | more)


def test_nothing_is_told_of_nothing():
    assert lines(None) == lines({}) == []
    assert told() == ["Took site mine.toml.", "Took rain generated for 'mediterranean'."]


def test_a_record_of_rain_is_told_by_its_rows_span_depth_and_years():
    assert told(rain=RAIN)[1] == (
        "Took rain rain.csv: 731 rows, 2023-01-01 to 2024-12-31, 1,235 mm in all; whole years: 2023 to "
        "2024; none left out."
    )
    inches = told(rain=RAIN | {"years_dropped": [2022]}, options={"units": "us"})[1]
    assert ", 49 in in all;" in inches and inches.endswith("; left out: 2022.")


def test_draws_are_told_by_the_days_of_the_run_they_cover():
    assert told(draws=DRAWS)[2] == (
        "Took draws meter.csv: 1,200 rows, 2024-01-01 to 2024-03-31, 480 L a day."
    )
    run = {"days_of_run": 1096, "days_covered": 1090, "rows_after_run": 0}
    assert told(draws=DRAWS | run)[2].endswith(" a day; 1,090 of 1,096 days.")
    assert told(draws=DRAWS | run | {"rows_after_run": 1500})[2].endswith(
        "; 1,090 of 1,096 days; 1,500 rows after the run are not used."
    )
    assert told(draws=DRAWS | run | {"repeated": True})[2].endswith(" a day; over and over.")


def test_options_are_told_as_they_were_given():
    options = {"years": 3, "worth": 0.1, "policy": "by the readings", "site": "a", "all_designs": True}
    options |= {"try": ["a=1", "b c"], "quick": False}
    assert told(options=options)[-1] == (
        "Took options: years 3, worth 0.1, policy 'by the readings', site a, all_designs yes, "
        "try a=1 + 'b c', quick False."
    )


def test_a_site_tells_first_which_keys_it_keeps_beside_what_it_says():
    keys = ["roof", "pump", "uv", "tank.volume", "rain.climate", "gauges", "house"]
    assert told(site={"name": "mine.toml", "extends": "cottage", "kept": keys})[0] == (
        "Took site mine.toml; it keeps from cottage: tank.volume, rain.climate, roof, pump, uv, gauges and "
        "1 more key or table."
    )
    more = told(site={"name": "mine.toml", "extends": "cottage", "kept": [*keys, "filters"]})[0]
    assert more.endswith(" and 2 more keys or tables.")
    assert told(site={"name": "mine.toml", "extends": "cottage", "kept": []})[0].endswith(": nothing.")


def test_a_record_is_plain_data_from_its_first_day_to_its_last():
    days = np.arange(np.datetime64("2023-01-01"), np.datetime64("2024-02-01"))
    found = of_rain(RainRecord(days, np.full(days.size, 2.5e-3), "abc"), "rain.csv")
    assert (found["first"], found["last"], found["rows"]) == ("2023-01-01", "2024-01-31", 396)
    assert found["total_mm"] == 990.0 and found["years_used"] == [2023]


def test_metered_draws_are_plain_data():
    draws = {
        "start_s": np.array([0.5 * DAY, 1.5 * DAY, 3.25 * DAY]),
        "duration_s": np.array([60.0, np.nan, 30.0]),
        "volume_m3": np.array([np.nan, 0.05, np.nan]),
        "flow_m3_s": np.array([1e-4, 1e-4, 2e-4]),
    }
    whole = of_draws(draws, "meter.csv", date(2024, 2, 28), None, repeats=False)
    assert (whole["first"], whole["last"], whole["days"]) == ("2024-02-28", "2024-03-02", 4)  # a leap year
    assert whole["litres_a_day"] == round((6.0 + 50.0 + 6.0) / 4, 1)
    assert "days_of_run" not in whole
    run = of_draws(draws, "meter.csv", date(2024, 2, 28), 3, repeats=False)
    assert (run["days_of_run"], run["rows_after_run"], run["repeated"]) == (3, 1, False)
    again = of_draws(draws, "meter.csv", date(2024, 2, 28), 3, repeats=True)
    assert (again["days_covered"], again["rows_after_run"], again["repeated"]) == (3, 0, True)
