"""Drawn households against recorded ones: every row of demand.csv and homes.csv by its own rule.

Sources, authors and licences stand in the heads of the tables.
"""

import numpy as np
import pytest

from tests.recorded.demand_measures import MEASURES, TABLES, measured
from tests.recorded.recorded_cases import FOLDER, RULES, agrees, range_of, recorded, rows

CASES = recorded(*TABLES)
# What was out before anything was changed; the rest was right blind.
WAS_OUT = {
    *("gap_1_min", "gap_5_min", "gap_30_min", "run_draws", "tap_days", "taps_seen"),
    *("toilet_litres_cv", "tap_litres_cv", "tap_seconds_cv", "shower_litres_cv", "shower_seconds_cv"),
    *("shower_flow_cv", "shower_homes"),
}


def name(case):
    return f"{case.key}: {case.data}"


@pytest.mark.parametrize("case", CASES, ids=name)
def test_ours_stands_to_the_record_as_its_row_says(case):
    assert agrees(case, measured(case.key), CASES)


def test_what_was_out_before_would_be_seen():
    out = {case.key for case in CASES if case.rule != "gap" and not agrees(case, float(case.before), CASES)}
    assert out == WAS_OUT


def test_no_row_is_said_to_be_off_that_is_not():
    """A gap of over 5 % has a reason; a row that could keep four errors or a range says so."""
    for case in CASES:
        if case.rule == "gap" and abs(float(case.gap)) > 0.05:
            assert case.why, case
        if case.rule == "gap" and case.se:
            assert abs(measured(case.key) - case.value) > 4.0 * float(case.se), case


@pytest.mark.parametrize("case", CASES, ids=name)
def test_a_row_is_whole(case):
    assert case.key in MEASURES
    assert case.quantity and case.n and case.unit and float(case.before) is not None
    assert case.grade in {"R", "2"}
    assert case.rule in RULES
    assert case.judged in {"blind", "calibrated"}
    assert bool(case.se) or case.rule != "four se"
    assert bool(case.gap) == (case.rule == "gap")


def test_a_range_is_that_of_several_homes():
    for case in CASES:
        if case.rule == "homes":
            least, most = range_of(case.key, CASES)
            assert least < most


@pytest.mark.parametrize("table", ["demand", "homes", "hours", "hours_naples", "naples_draws"])
def test_a_table_names_source_and_licence_in_its_head(table):
    text = (FOLDER / f"{table}.csv").read_text(encoding="utf-8").splitlines()
    head = " ".join(line for line in text if line.startswith("#"))
    assert text[0].startswith("#") and "github" in head
    assert any(licence in head for licence in ("CC BY 4.0", "CC BY-SA"))


def test_what_is_under_another_licence_stands_apart():
    """Adapted from CC BY-SA: in tables of their own, which say so."""
    for table in ("homes", "hours"):
        assert "CC BY-SA" in (FOLDER / f"{table}.csv").read_text(encoding="utf-8")
    assert not any("Alicante" in case.data for case in recorded("demand"))
    assert all("Alicante" in case.data or case.key.startswith("hours") for case in recorded("homes"))


def test_the_recorded_flat_has_the_gaps_its_table_says():
    """Its first 60 days, counted here from the file: 0.083, 0.423 and 0.772."""
    start_s = np.array([float(row["start"]) for row in rows("naples_draws")])
    shares = [round(float(np.mean(np.diff(start_s) < limit)), 3) for limit in (60.0, 300.0, 1800.0)]
    assert shares == [0.083, 0.423, 0.772]
    said = {case.key: case.why for case in CASES if case.key.startswith("gap_")}
    assert [float(said[key].split()[0]) for key in ("gap_1_min", "gap_5_min", "gap_30_min")] == shares


def test_the_effects_kept_are_of_all_sites_and_figures():
    kept = rows("demand_effects")
    assert {row["site"] for row in kept} == {"family_house", "cottage"}
    starts = [row for row in kept if row["figure"] == "pump_starts" and row["added by"] == "all of it"]
    for row in starts:  # sessions fill a tank no oftener: some 2 % fewer starts, known to a percent
        assert abs(float(row["difference"])) < 0.04 * float(row["with all"])
        assert float(row["se"]) < 0.01 * float(row["with all"])
