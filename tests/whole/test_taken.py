"""Every command prints what it took, and the manifest holds it; draws that leave days out are refused."""

import hashlib
import json
import os
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
import vega_datasets

from sim.cli import main
from sim.constants import DAY_S
from sim.scenario.read.load import load, load_told
from sim.study.draws_record import days_covered, repeated

SEATTLE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"
SHORT = ["--years", "1", "--policy", "nothing done"]
ONE = [*SHORT, "--workers", "1"]
COMMANDS = {
    "check": [], "run": SHORT, "visits": [], "compare": [*ONE, "--replications", "1"],
    "skip": ["--years", "1", "--workers", "1", "--replications", "1"],
}  # fmt: skip
SAYS = 'extends = "cottage"\nname = "Mine"\nstart = 2021-01-01\n[cistern]\ncapacity = "9 m3"\n'
START = date(2021, 1, 1)


@pytest.fixture
def site(tmp_path):
    (tmp_path / "mine.toml").write_text(SAYS)
    return tmp_path / "mine.toml"


def asked(capsys, *words):
    code = main(list(map(str, words)))
    out, err = capsys.readouterr()
    return code, out, err


def metered(path, days, start=START, litres=10.0):
    """Write draws of some litres, one on each of some days."""
    times = [(start + timedelta(days=int(day))).isoformat() for day in days]
    path.write_text("start,use,volume_l\n" + "".join(f"{at}T07:00,toilet,{litres}\n" for at in times))
    return path


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_prints_what_it_took_and_the_manifest_holds_it(command, site, tmp_path, capsys):
    # vega_datasets 0.9.0, seattle-weather.csv: 1,461 rows, 4,426.0 mm (174.25 in), by awk; all years whole
    rain = [] if command == "visits" else ["--rain", SEATTLE]
    out = [] if command == "check" else ["--out", tmp_path / "out"]
    done = 3 if command == "check" else 0  # a criterion fails
    code, said, err = asked(capsys, command, site, *COMMANDS[command], *rain, *out)
    assert code == done, err
    assert "Took site mine.toml; it keeps from cottage: " in said
    if rain:
        total = "174 in" if "units us" in said else "4,426 mm"  # in the units of the answer, if it has any
        assert (
            f"Took rain seattle-weather.csv: 1,461 rows, 2012-01-01 to 2015-12-31, {total} in all; "
            "whole years: 2012 to 2015; none left out." in said
        )
    if command == "run":
        assert "Took options: years 1, seed 1, policy 'nothing done', replication 0." in said
    if not out:
        return
    took = json.loads((tmp_path / "out" / "manifest.json").read_text())["took"]
    assert took["site"]["name"] == "mine.toml"
    assert took["site"]["extends"] == "cottage"
    assert took["site"]["sha256"] == hashlib.sha256(SAYS.encode()).hexdigest()
    assert {"cistern.floor", "pump", "uv", "years"} <= set(took["site"]["kept"])
    assert not {"cistern", "cistern.capacity", "name", "start"} & set(took["site"]["kept"])
    assert str(tmp_path) not in json.dumps(took)
    if rain:
        assert took["rain"]["sha256"] == hashlib.sha256(SEATTLE.read_bytes()).hexdigest()
        assert took["rain"]["years_used"] == [2012, 2013, 2014, 2015]
        assert took["rain"]["years_dropped"] == []


def test_years_of_which_days_are_missing_are_told(site, tmp_path, capsys):
    lines = SEATTLE.read_text().splitlines()
    (tmp_path / "part.csv").write_text("\n".join([lines[0], *lines[60:-10]]) + "\n")
    _, said, _ = asked(capsys, "check", site, "--rain", tmp_path / "part.csv")
    assert "Took rain part.csv: 1,392 rows, 2012-02-29 to 2015-12-21, " in said
    assert "whole years: 2013 to 2014; left out: 2012 and 2015." in said


def test_a_diary_says_what_was_read_and_what_it_holds(site, tmp_path, capsys):
    table = tmp_path / "read.csv"
    table.write_text("date,UV [%],precharge [psi]\n2026-01-01,71,38\n2026-02-01,70,\n")
    _, said, err = asked(capsys, "readings", "add", site, "--from", table)
    assert "Took file read.csv: 3 readings and 0 acts, 2026-01-01 to 2026-02-01." in said, said + err
    assert "Took site mine.toml; " in said
    _, listed, _ = asked(capsys, "readings", "list", site)
    assert "Took site mine.toml; " in listed


@pytest.mark.parametrize(
    ("days", "start", "covered"),
    [
        (range(400, 765), START, 0),  # the meter's export of another year
        (range(300), START, 300),
        (range(100, 365), START, 265),
        ([0, 364], START, 2),  # a gap nobody travels for
        (range(90), START, 90),
    ],
)
def test_draws_that_leave_days_of_the_run_out_are_refused(days, start, covered, site, tmp_path, capsys):
    file = metered(tmp_path / "draws.csv", days, start)
    code, said, err = asked(capsys, "run", site, *SHORT, "--draws", file, "--out", tmp_path / "out")
    assert (code, said, err.count("\n")) == (2, "", 1)
    assert f"covers {covered:,} of 365 days of the run; wanted 90 % or more" in err
    assert "--draws-repeat" in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("days", [range(365), range(330), [d for d in range(365) if not 100 <= d < 130]])
def test_draws_that_cover_the_run_are_taken_as_they_are(days, site, tmp_path, capsys):
    file = metered(tmp_path / "draws.csv", days, litres=12.0)
    code, said, err = asked(capsys, "run", site, *SHORT, "--draws", file, "--out", tmp_path / "out")
    assert code == 0, err
    took = json.loads((tmp_path / "out" / "manifest.json").read_text())["took"]["draws"]
    assert (took["rows"], took["days_of_run"], took["repeated"]) == (len(days), 365, False)
    assert took["days_covered"] == max(days) + 1
    assert took["litres_a_day"] == pytest.approx(12.0 * len(days) / (max(days) + 1), abs=0.05)
    assert f"{max(days) + 1} of 365 days" in said


def test_draws_taken_over_and_over_are_said_in_the_answer(site, tmp_path, capsys):
    file = metered(tmp_path / "draws.csv", range(21), date(2019, 3, 4))
    words = [*SHORT, "--draws", file, "--draws-repeat", "--out", tmp_path / "out"]
    code, said, err = asked(capsys, "run", site, *words)
    assert code == 0, err
    assert (
        "Draws are those of draws.csv, 2019-03-04 to 2019-03-24, 21 days taken over and over: "
        "no other season or year is in them." in said
    )
    assert "Took draws draws.csv: 21 rows, 2019-03-04 to 2019-03-24, 10 L a day; over and over." in said
    draws = (tmp_path / "out" / "draws.csv").read_text().splitlines()
    assert len(draws) == 1 + 365  # a draw a day, all year
    took = json.loads((tmp_path / "out" / "manifest.json").read_text())["took"]
    assert took["draws"]["repeated"] is True
    assert took["options"]["draws-repeat"] is True


def test_repeated_draws_keep_day_of_week_and_time_of_day():
    start = datetime(2021, 1, 1)
    days = np.array([d for d in range(10, 40) if (start + timedelta(days=d)).weekday() < 5])
    draws = {"start_s": days * DAY_S + 25_200.0, "flow_m3_s": np.arange(days.size) + 1.0, "reference_pa": 3e5}
    found = repeated(draws, 730)
    when = [start + timedelta(seconds=float(at)) for at in found["start_s"]]
    assert {at.weekday() for at in when} == set(range(5))
    assert {at.hour for at in when} == {7}
    assert found["reference_pa"] == 3e5
    assert (min(when).date(), max(when).date()) == (date(2021, 1, 1), date(2022, 12, 30))
    assert len(when) == len({at.date() for at in when}) == 521  # weekdays of both years, by the calendar
    at = dict(zip(when, found["flow_m3_s"], strict=True))
    assert all(at[one] == at[two] for one in when if (two := one + timedelta(days=28)) in at)


def test_days_between_draws_count_up_to_a_gap():
    starts = np.array([0.0, 31.0, 63.0, 64.0]) * DAY_S
    assert days_covered(starts, 100) == 34  # 0 to 31, 63 and 64: a gap of 30 days counts, one of 31 does not
    assert days_covered(starts, 64) == 33
    assert days_covered(starts + 100 * DAY_S, 100) == 0


def test_a_file_of_draws_is_opened_once_and_told_by_its_content(site, tmp_path, capsys, monkeypatch):
    file, opened, really = metered(tmp_path / "draws.csv", range(365)), [], os.open

    def noting(path, *more, **named):
        opened.append(str(path))
        return really(path, *more, **named)

    monkeypatch.setattr(os, "open", noting)
    digests = []
    for litres in (10.0, 10.0, 11.0):
        metered(file, range(365), litres=litres)
        code, _, err = asked(capsys, "run", site, *SHORT, "--draws", file, "--out", tmp_path / "out")
        assert code == 0, err
        digests.append(
            json.loads((tmp_path / "out" / "manifest.json").read_text())["took"]["draws"]["digest"]
        )
    assert opened.count(str(file)) == 3
    assert digests[0] == digests[1] != digests[2]


def test_a_site_that_extends_nothing_keeps_nothing(tmp_path):
    assert load_told("cottage") == (load("cottage"), {"name": "cottage (built in)"})
    base = (Path(__file__).parents[2] / "scenarios" / "cottage.toml").read_text()
    (tmp_path / "again.toml").write_text(base)
    _, told = load_told(tmp_path / "again.toml")
    assert told["extends"] == "base"
