"""`compare` and `run` from the command line to the files, with the twin itself, short."""

import json
import re

import pandas as pd
import pytest

from sim import cli
from sim.report.html import comparison_report
from sim.study.compare import comparison
from sim.study.runs import batch, pace
from tests.kept_files import COMPARISON

TWO = ["--policy", "by the calendar", "--policy", "nothing done"]


def compare(folder, *words: str) -> int:
    return cli.main(["compare", "--years", "1", "--out", str(folder), *TWO, *words])


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    """Three replications by one worker."""
    folder = tmp_path_factory.mktemp("three")
    assert compare(folder, "--replications", "3", "--workers", "1") == 0
    return folder


def test_it_leaves_whole_files_and_no_others(three):
    assert {path.name for path in three.iterdir()} == set(COMPARISON)
    # an empty cell is an empty word
    rows = pd.read_csv(three / "rows.csv", dtype={"extrapolated": "str"}).fillna({"extrapolated": ""})
    pd.testing.assert_frame_equal(
        rows, pd.read_parquet(three / "rows.parquet"), check_dtype=False, check_exact=True
    )
    assert list(rows["policy"]) == ["by the calendar"] * 3 + ["nothing done"] * 3
    manifest = json.loads((three / "manifest.json").read_text())
    assert (manifest["replications_finished"], manifest["stopped_because"]) == (3, "complete")


def test_any_number_of_workers_gives_the_same_bytes(three, tmp_path):
    assert compare(tmp_path, "--replications", "3", "--workers", "2") == 0
    for name in sorted(COMPARISON):
        assert (tmp_path / name).read_bytes() == (three / name).read_bytes(), name


def test_the_report_loads_nothing_and_says_what_it_shows(three):
    page = (three / "report.html").read_text()
    markup = re.sub(r"<script\b.*?</script>", "", page, flags=re.S)
    assert "://" not in markup
    assert not re.search(
        r"<(script|img|iframe|link|object|embed)\b[^>]*\b(src|href|data)\s*=", page[: page.index("<script")]
    )
    assert not re.search(r"<(script|iframe|link)\b[^>]*\s(src|href)\s*=", markup)
    assert re.search(r"<script[^>]+src=", page[:2000]) is None
    pictures = re.findall(r'role="img" aria-label="([^"]*)"', markup)
    assert len(pictures) == 8  # six of the comparison, two histories
    assert all(len(words) > 40 for words in pictures)
    assert markup.count("<details>") == len(pictures)
    assert "not a water test" in markup
    assert not re.search(r"\bsafe\b", markup)


def test_one_replication_works_and_says_there_is_no_interval(tmp_path, capsys):
    assert compare(tmp_path, "--replications", "1", "--workers", "1") == 0
    printed = capsys.readouterr().out
    assert "no bounds" in printed.replace("\n", " ")
    assert "±" not in printed.split("confidence")[1].split("One run")[0]
    assert max(map(len, printed.split("Written to")[0].splitlines()[:12])) <= 100


def test_an_interrupted_study_keeps_its_rows(tmp_path, capsys, monkeypatch):
    original = batch.Job.unit

    def stopped(self, unit):
        if unit.replication == 2:
            raise KeyboardInterrupt
        return original(self, unit)

    monkeypatch.setattr(batch.Job, "unit", stopped)
    for limit in ("WANTED_S", "LEAST_S"):
        monkeypatch.setattr(pace, limit, 0.0)  # a replication a batch
    assert compare(tmp_path, "--replications", "5", "--workers", "1") == 130
    assert "2 of 5" in capsys.readouterr().out
    assert len(pd.read_csv(tmp_path / "rows.csv")) == 4
    assert json.loads((tmp_path / "manifest.json").read_text())["stopped_because"] == "interrupted"


def test_an_interrupt_at_once_is_one_line(tmp_path, capsys, monkeypatch):
    def stopped(self, unit):
        raise KeyboardInterrupt

    monkeypatch.setattr(batch.Job, "unit", stopped)
    assert compare(tmp_path, "--replications", "5", "--workers", "1") == 130
    assert "before any run was finished" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_run_writes_its_history(tmp_path, capsys):
    assert cli.main(["run", "--years", "1", "--out", str(tmp_path)]) == 0
    names = {f"{table}.{end}" for table in ("draws", "pump", "days", "events") for end in ("csv", "parquet")}
    names.add("manifest.json")
    assert {path.name for path in tmp_path.iterdir()} == names
    assert len(pd.read_csv(tmp_path / "days.csv")) == 365
    assert "not a water test" in capsys.readouterr().out


def test_the_report_says_which_policy_costs_less(tmp_path):
    rows = pd.DataFrame(
        [
            {
                "policy": name,
                "replication": i,
                "years": 1.0,
                "cost": cost + i,
                "water_off_h": 1.0,
                "alarm_h": 1.0,
            }
            | {"days_below_target": 1.0, "least_dose_j_m2": 1.0}
            for name, cost in (("dear", 100.0), ("cheap", 40.0), ("dearest", 130.0))
            for i in range(4)
        ]
    )
    found = {
        pair[0]: pair[1] for pair in comparison_report._pairs(comparison.compare(rows, "dear", 5.0), "USD")
    }
    assert found["cheap"].startswith("60 USD a year less")
    assert found["dearest"].startswith("30 USD a year more")
