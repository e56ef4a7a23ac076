"""A rain record as people give it: one year is refused, few are said, those left out are named."""

import argparse

import numpy as np
import pytest

from sim.cli import main
from sim.commands.check import FAILS
from sim.commands.inputs import site_of
from sim.errors import InputError
from sim.scenario.read.series import RainRecord
from sim.study import rain_record


def record(tmp_path, first, last):
    """Write a record of the days from first to last, rain every fourth day."""
    days = np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]")
    lines = [f"{day},{12 if at % 4 == 0 else 0}" for at, day in enumerate(days)]
    path = tmp_path / "record.csv"
    path.write_text("date,precipitation\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return str(path)


def held(first, last):
    days = np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]")
    return RainRecord(days, np.zeros(days.size), "digest")


@pytest.mark.parametrize("command", [["check"], ["run", "--years", "1"], ["compare", "--replications", "2"],
                                     ["skip"], ["size"], ["tune"]])  # fmt: skip
def test_one_year_is_refused_by_every_command_that_reads_rain(command, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main([*command, "--rain", record(tmp_path, "2019-06-01", "2021-03-01")]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "record.csv: holds one complete calendar year, 2020" in said
    assert "wanted two or more" in said and "--one-rain-year" in said


def test_no_whole_year_is_refused_even_of_who_insists(tmp_path, capsys):
    path = record(tmp_path, "2019-06-01", "2020-11-01")
    assert main(["check", "--rain", path, "--one-rain-year"]) == 2
    assert "holds no complete calendar year (January to December)" in capsys.readouterr().err


def test_one_year_is_taken_from_who_insists_and_said(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = record(tmp_path, "2020-01-01", "2020-12-31")
    assert main(["run", "cottage", "--years", "1", "--rain", path, "--one-rain-year"]) == 0
    assert "Rain is that of one recorded year, 2020: with fewer than 10" in capsys.readouterr().out


def test_insisting_without_a_record_is_refused(capsys):
    assert main(["check", "--one-rain-year"]) == 2
    assert "--one-rain-year: the rain here is not from a record" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["visits", "dashboard"])
def test_commands_without_rain_do_not_know_the_option(command, capsys):
    with pytest.raises(SystemExit) as ended:
        main([command, "--one-rain-year"])
    assert ended.value.code == 2
    assert "--one-rain-year" in capsys.readouterr().err


def test_compare_says_how_few_years_and_which_were_left_out(tmp_path, capsys, monkeypatch):
    """On the screen and in the report alike."""
    monkeypatch.chdir(tmp_path)
    path = record(tmp_path, "2015-05-01", "2018-02-01")
    asked = ["--years", "1", "--replications", "2", "--workers", "1", "--policy", "by the calendar"]
    assert main(["compare", "cottage", *asked, "--rain", path]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    few = "Rain is that of only 2 recorded years, 2016 to 2017: with fewer than 10"
    dropped = "2015 and 2018 are left out, as days are missing."
    assert few in shown and dropped in shown
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert few in page and dropped in page


def test_check_holds_a_record_against_the_generator(tmp_path, capsys):
    """Rain every fourth day: the longest dry run is 3 days. Runs take it, none takes made rain."""
    path = record(tmp_path, "2010-01-01", "2013-12-31")
    assert main(["check", "cottage", "--units", "si", "--rain", path]) == FAILS
    shown = capsys.readouterr().out.splitlines()
    lines = {line[2:].partition(":")[0]: line for line in shown if ":" in line}
    assert "! rain record: Rain is that of only 4 recorded years" in "\n".join(shown)
    assert lines["longest dry run of a year"].startswith("  longest dry run of a year: 3.0 d ± 0.0 d")
    assert "generated rain, which no run takes" in lines["spread of yearly rain"]
    held = next(line for line in shown if "spread of yearly rain, in runs over recorded" in line)
    assert "pass" in held and held.endswith(
        ": 100.0 %; at least 90.0 %; runs take the recorded years themselves"
    )
    assert "generated for" not in "\n".join(shown)


def test_what_a_site_keeps_of_generated_rain_is_not_told_beside_a_record(tmp_path):
    (tmp_path / "mine.toml").write_text('extends = "cottage"\nname = "mine"\n', encoding="utf-8")
    path = record(tmp_path, "2010-01-01", "2013-12-31")
    kept = []
    for rain in (None, path):
        site = site_of(argparse.Namespace(site=str(tmp_path / "mine.toml"), rain=rain))
        kept.append(set(site.took["site"]["kept"]))
    assert kept[0] - kept[1] == {"rain"}
    assert kept[1] - kept[0] == {"rain.years", "rain.wet_day"}


def test_check_without_a_record_says_nothing_of_one(capsys):
    assert main(["check", "cottage"]) == FAILS
    said = capsys.readouterr().out
    assert "fitted to the record" not in said and "rain record:" not in said


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        ("2001-01-01", "2010-12-31", ["Rain is that of 10 recorded years, 2001 to 2010."]),
        ("2001-01-02", "2011-12-31", ["Rain is that of 10 recorded years, 2002 to 2011.",
                                      "2001 is left out, as days are missing."]),
    ],
)  # fmt: skip
def test_what_is_said_of_ten_years(first, last, expected):
    assert rain_record.said(held(first, last)) == expected


def test_nine_years_are_few():
    (said,) = rain_record.said(held("2001-01-01", "2009-12-31"))
    assert said.startswith("Rain is that of only 9 recorded years, 2001 to 2009: with fewer than 10, ")


def test_nothing_is_said_without_a_record():
    assert rain_record.said(None) == []


def test_years_apart_are_listed_apart():
    days = np.arange("2001-01-01", "2006-01-01", dtype="datetime64[D]")
    depth_m = np.zeros(days.size)
    depth_m[np.flatnonzero(np.datetime64("2003-07-01") == days)] = np.nan
    said = rain_record.said(RainRecord(days, depth_m, "digest"))
    assert "2001 to 2002 and 2004 to 2005" in said[0]
    assert said[1] == "2003 is left out, as days are missing."


def test_two_years_are_enough_and_one_is_not():
    rain_record.check_length(held("2001-01-01", "2002-12-31"), "a.csv")
    rain_record.check_length(held("2001-01-01", "2001-12-31"), "a.csv", insists=True)
    with pytest.raises(InputError, match=r"^a\.csv: holds one complete calendar year, 2001, .* better 10$"):
        rain_record.check_length(held("2001-01-01", "2001-12-31"), "a.csv")


def _gap_site(tmp_path, absent):
    """Write a site whose record lacks the days named, and return it with the record of the rest."""
    days = np.arange("2001-01-01", "2013-01-01", dtype="datetime64[D]").astype(str)
    lines = [f"{day},{12 if at % 4 == 0 else 0}" for at, day in enumerate(days) if day not in absent]
    (tmp_path / "gaps.csv").write_text("date,precipitation\n" + "\n".join(lines) + "\n", encoding="utf-8")
    text = 'extends = "cottage"\nname = "mine"\n[rain]\nrecord = "gaps.csv"\nmissing = ""\n'
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    return site_of(argparse.Namespace(site=str(tmp_path / "mine.toml")))


def test_years_with_gaps_are_left_out_told_and_never_run(tmp_path, capsys):
    site = _gap_site(tmp_path, ("2004-07-01", "2009-12-31"))
    assert site.took["rain"]["years_dropped"] == [2004, 2009]
    assert site.took["rain"]["years_used"] == [2001, 2002, 2003, 2005, 2006, 2007, 2008, 2010, 2011, 2012]
    assert rain_record.said(site.rain) == [
        "Rain is that of 10 recorded years, 2001 to 2003, 2005 to 2008 and 2010 to 2012.",
        "2004 and 2009 are left out, as days are missing.",
    ]
    assert main(["check", str(tmp_path / "mine.toml")]) == FAILS
    shown = " ".join(capsys.readouterr().out.split())
    assert "whole years: 2001 to 2003, 2005 to 2008 and 2010 to 2012; left out: 2004 and 2009." in shown


@pytest.mark.parametrize(
    ("depth_m", "times", "asked"),
    [(0.0999, 3, True), (0.0999, 2, False), (0.0499, 40, False), (0.05, 40, True)],
)
def test_a_great_depth_that_comes_again_to_the_digit_is_asked_about(depth_m, times, asked):
    whole = held("2001-01-01", "2012-12-31")
    whole.depth_m[10 : 10 + times] = depth_m
    said = [sentence for sentence in rain_record.said(whole) if "to the digit" in sentence]
    assert len(said) == asked
    if asked:
        assert said[0].startswith(f"Its wettest {times} days have {1e3 * depth_m:g} mm each")
