"""The answer in words: numbers known by hand go in as rows, the sentences come out."""

import re

import numpy as np
import pandas as pd
import pytest

from sim.study.caution import CAUTION, cautioned
from sim.study.compare.comparison import compare
from sim.study.compare.comparison_tables import summary_frame
from sim.study.compare.headline import headline
from sim.study.compare.measures import DAYS_EXPECTED
from sim.study.compare.sentences import sentences_of, what_would_change_this
from tests.plain_words import faults

RUNS = 40
NO_SPREAD = np.zeros(RUNS)
# Half of the runs one up, half one down: deviation sqrt(40 / 39), so with t(39, 0.975) = 2.0227 (t table)
# the half-width of the mean is 2.0227 / sqrt(39) = 0.32389 of the swing.
SWING = np.tile([1.0, -1.0], RUNS // 2)
OTHER_SWING = np.tile([1.0, 1.0, -1.0, -1.0], RUNS // 4)


def rows_of(policy, cost, days=0.0):
    cost = np.atleast_1d(np.asarray(cost, dtype=float))
    return pd.DataFrame(
        {
            "policy": policy,
            "replication": np.arange(cost.size),
            "years": 10.0,
            "cost": cost,
            "water_off_h": 3.0,
            "alarm_h": 2.0,
            "days_below_target": days,
            "least_dose_j_m2": 400.0,
        }
    )


def told(*frames, reference, limit=1.0, asked=None):
    """The sentences without the caution, which is checked here once for all."""
    found = compare(pd.concat(frames, ignore_index=True), reference, limit)
    sentences = sentences_of(found, "USD", asked)
    text = cautioned(sentences)
    assert text.partition("\n")[0] == CAUTION
    assert faults(text) == []
    return " ".join(sentences)


def changes(*frames, reference, limit=1.0):
    facts = what_would_change_this(compare(pd.concat(frames, ignore_index=True), reference, limit), "USD")
    assert faults("\n".join(facts)) == []
    return facts


BASIS = "Bounds hold at 95 % confidence, from 40 runs of 10 years."


@pytest.mark.parametrize(
    ("days", "cost", "said"),
    [
        (
            0.5,
            380.0,
            "keeps to 1.2 bad days a year. If you allow less, 'few' keeps to 0.61, for 40 USD a year more.",
        ),
        (0.5, 300.0, "'few' keeps to 0.61 bad days a year; no other way is shown to keep to less."),
        (1.5, 380.0, "'some' keeps to 1.2 bad days a year; no other way is shown to keep to less."),
    ],
)
def test_who_allows_less_is_told_which_way_goes_further(days, cost, said):
    """A verdict's bound is the mean + 0.1 d + t(0.99, 39) x se = 0.5 + 0.1 + 2.43 x 0.0016, given upwards."""
    text = told(
        rows_of("few", cost + NO_SPREAD, days + 0.01 * SWING),
        rows_of("some", 340.0 + NO_SPREAD, 1.0 + 0.01 * SWING),
        reference="few",
        limit=5.0,
    )
    assert text.count("These runs show that") == 1
    assert said in text


@pytest.mark.parametrize(
    ("alarm_h", "dark_h", "said"),
    [
        (
            100.0,
            49.0,
            "100 hours a year, mostly while there is light enough; 49 hours have too little; the water",
        ),
        (100.0, 51.0, "The alarm sounds 100 hours a year; 51 hours have too little light; the water"),
    ],
)
def test_hours_of_alarm_are_not_taken_for_hours_without_light(alarm_h, dark_h, said):
    frame = rows_of("a", 400.0 + SWING).assign(alarm_h=alarm_h, low_light_h=dark_h)
    assert said in told(frame, reference="a")


def test_the_cheaper_one_without_days_is_told_with_what_the_other_costs_more():
    text = told(
        rows_of("by the calendar", 420.0 + NO_SPREAD),
        rows_of("by the readings", 335.0 + 37.0 * SWING, np.zeros(RUNS)),
        reference="by the calendar",
    )
    assert text.startswith(
        "Choose 'by the readings': about 335 USD a year. 'by the calendar' costs 85 USD a year more, and "
        "does not spare you as much as 1 bad day a year. With 'by the readings' no run had a bad day."
    )
    assert text.endswith(BASIS)


def test_who_is_over_the_limit_is_said_with_the_days():
    text = told(
        rows_of("never", 100.0 + NO_SPREAD, 60.0 + SWING),
        rows_of("readings", 185.0 + 37.0 * SWING),
        reference="never",
        limit=2.0,
    )
    assert text.startswith(
        "Choose 'readings': about 185 USD a year. Over this house's limit of 2 bad days a year: 'never' "
        "(60 bad days a year)."
    )


def test_costs_that_differ_by_less_than_matters_leave_the_choice_to_something_else():
    text = told(rows_of("a", 400.0 + SWING), rows_of("b", 400.0 + SWING), reference="a")
    assert text.startswith(
        "Choose 'a' or 'b' by something else than cost, which differs by less than 25 USD a year."
    )


def test_costs_that_cannot_be_told_apart_are_not():
    text = told(rows_of("a", 400.0 + NO_SPREAD), rows_of("b", 395.0 + 100.0 * SWING), reference="a")
    assert text.startswith("After 40 runs it cannot be told yet whether to choose 'b' or 'a'.")


def test_an_hour_of_alarm_has_the_price_that_spares_it():
    # 50 USD more for 100 hours less: half a USD an hour, by hand.
    text = told(
        rows_of("a", 400.0 + SWING).assign(alarm_h=300.0),
        rows_of("b", 450.0 + SWING).assign(alarm_h=200.0),
        reference="a",
    )
    assert (
        "Choose 'b' if you would pay 0.50 USD to be spared an hour of alarm (200 hours a year, against 300)."
        in text
    )


def test_the_causes_told_are_of_the_policy_chosen_and_add_up():
    days = 2.0 + SWING
    causes = {"days_by_power_cut": 0.75 * days, "days_by_film": 0.23 * days, "days_by_clogged": 0.02 * days}
    frame = rows_of("a", 400.0 + SWING, days).assign(**causes)
    text = told(frame, reference="a", limit=5.0)
    assert (
        "Expect about 2.0 bad days a year with 'a': 75 % from power cuts, 23 % from film on the sleeve "
        "and 2.0 % from rarer causes." in text
    )


def test_what_cannot_be_told_of_the_others_is_said_beside_the_one_chosen():
    text = told(
        rows_of("a", 300.0 + SWING, 0.5 + 0.01 * SWING),
        rows_of("b", 400.0 + SWING, 5.0 + 2.5 * SWING),
        reference="a", limit=5.0,
    )  # fmt: skip
    assert text.startswith("Choose 'a': about 300 USD a year.")
    assert "It cannot be told yet whether 'b' keeps to this house's limit." in text


def test_days_by_cause_are_columns_of_the_summary():
    days = 2.0 + SWING
    frame = rows_of("a", 400.0 + SWING, days).assign(days_by_power_cut=0.75 * days, days_by_film=0.25 * days)
    row = summary_frame(compare(frame, "a", 5.0)).iloc[0]
    assert row["days_by_power_cut"] == pytest.approx(1.5) and row["days_by_film"] == pytest.approx(0.5)
    assert row["days_by_clogged"] == 0.0 and "causes" not in row.index


def test_a_mean_on_the_limit_is_said_to_stand_there():
    text = told(rows_of("a", 400.0 + SWING, 5.0 + 0.5 * SWING), reference="a", limit=5.0)
    assert text.startswith("'a' stands at this house's limit: 5.0 bad days a year, give or take 0.")
    assert "decide by something else" in text


def test_a_cheaper_one_at_the_limit_is_left_to_who_asks():
    frames = rows_of("a", 400.0 + SWING, 4.5 + 0.1 * SWING), rows_of("b", 100.0 + SWING, 5.0 + 0.5 * SWING)
    found = compare(pd.concat(frames, ignore_index=True), "a", 5.0)
    assert found.best is None and found.choice.either == ("a", "b") and found.choice.settled
    text = told(*frames, reference="a", limit=5.0)
    assert text.startswith(
        "Choose 'a' to be within this house's limits. 'b' may be cheaper and stands at them, with 5.0"
    )
    dearer = rows_of("b", 900.0 + SWING, 5.0 + 0.5 * SWING)
    assert compare(pd.concat([frames[0], dearer], ignore_index=True), "a", 5.0).best == "a"


def test_what_the_runs_do_not_tell_is_not_called_over():
    days = np.where(np.arange(RUNS) < 3, 10.0, 0.0)  # mean 0.75, within the limit of 1; its bounds are not
    text = told(rows_of("a", 400.0 + SWING, days), reference="a")
    assert text.startswith("After 40 runs it cannot be told yet whether 'a' keeps to 1 bad day a year:")
    assert "Over" not in text


def test_nobody_within_the_limit_is_told_without_costs():
    text = told(
        rows_of("a", 400.0 + NO_SPREAD, 80.0 + SWING),
        rows_of("b", 100.0 + NO_SPREAD, 60.0 + SWING),
        reference="a",
    )
    assert text.startswith(
        "No way keeps to this house's limits; costs are not compared. Over this house's limit of 1 bad day "
        "a year: 'a' (80 bad days a year) and 'b' (60 bad days a year). Expect about 60 bad days a year with "
        "'b'."
    )
    assert "USD" not in text


@pytest.mark.parametrize(("share", "said"), [(0.025, True), (0.0008, False)])
def test_a_uv_unit_too_small_for_what_is_drawn_is_seen_to_first(share, said):
    rows = [rows_of(name, cost).assign(over_uv_share=share) for name, cost in (("a", 420.0), ("b", 335.0))]
    text = told(*rows, reference="a")
    assert ("But see to the UV unit first: 2.5 % of draws" in text) is said


def test_one_run_gives_no_interval():
    text = told(rows_of("a", 420.0), rows_of("b", 335.0), reference="a")
    assert text.startswith("After 1 run it cannot be told yet")
    assert "One run gives no bounds, and shows no policy to be the cheapest." in text


def test_the_three_sentences_are_short_and_plain():
    never = ("upper bound", "left out before cost", "bore on the dose", "interval", "cannot tell its cost")
    for comparison in comparisons_of_every_kind():
        for line in headline(comparison, "USD"):
            assert len(line.split()) <= 65, line
            assert not any(words in line for words in never), line


def test_an_interrupted_study_says_how_far_it_came():
    frames = (rows_of("a", 400.0 + 37.0 * SWING), rows_of("b", 485.0 + NO_SPREAD))
    assert told(*frames, reference="a", asked=100).endswith(
        "from 40 of 100 runs of 10 years, as the study was interrupted."
    )
    assert told(*frames, reference="a", asked=40).endswith(BASIS)
    one = told(rows_of("a", 420.0), reference="a", asked=8)
    assert one.endswith("The study was interrupted after 1 of 8 runs of 10 years.")


class TestWhatWouldChange:
    def test_a_dearer_rival_and_what_it_would_take(self):
        facts = changes(rows_of("a", 420.0 + NO_SPREAD), rows_of("b", 335.0 + 37.0 * SWING), reference="a")
        assert facts[0].startswith("'a' has nothing over 'b'")
        # One error of 2 % to a side, at a single look: t(39, 0.98) = 2.125 of 37 x sqrt(40 / 39) / sqrt(40).
        assert facts[1] == "'a' would have to become 85 ± 13 USD a year cheaper to match 'b'."

    def test_a_limit_that_lets_a_policy_in_stays_true_when_used(self):
        days = np.where(np.arange(RUNS) < 15, 2.0, 0.0)
        frames = (rows_of("a", 400.0 + 37.0 * SWING), rows_of("b", 100.0 + NO_SPREAD, days))
        (lets_in,) = [fact for fact in changes(*frames, reference="a") if "would be within it" in fact]
        limit = float(re.search(r"limit of ([\d.]+)", lets_in)[1])
        assert limit > 1.0
        found = compare(pd.concat(frames, ignore_index=True), "a", limit)
        assert found.summary("b").by_days.state == "within"

    def test_few_runs_are_said_to_be_few(self):
        assert "3 runs hardly show the spread" in changes(rows_of("a", [1.0, 2.0, 3.0]), reference="a")[-1]
        assert changes(rows_of("a", 1.0), reference="a")[-1] == "One run shows no spread; 10 or more would."

    def test_the_weak_spot_of_the_bound_is_named(self):
        facts = changes(rows_of("a", 400.0 + SWING), reference="a")
        assert "For 'a', no run had such a day; the bounds allow for a run, unseen, with 30 of them." in facts


def comparisons_of_every_kind():
    generator = np.random.default_rng(7)
    for runs in (1, 2, 3, 12, 40):
        for limit in (0.0, 0.5, 500.0):
            for scale in (0.0, 1e-3, 1.0, 1e6):
                weather = generator.normal(0.0, 1.0, runs)
                frames = [
                    rows_of("first", scale * (5 + weather)),
                    rows_of("second", scale * (5 + weather), generator.poisson(0.4, runs)),
                    rows_of(
                        "third", scale * (4 + generator.normal(0.0, 1.0, runs)), generator.poisson(9.0, runs)
                    ),
                ]
                for count in (1, 2, 3):
                    yield compare(pd.concat(frames[:count], ignore_index=True), "first", limit)


def test_words_are_never_broken_and_never_promise():
    seen = 0
    for found in comparisons_of_every_kind():
        text = cautioned(sentences_of(found, "USD", 50))
        facts = what_would_change_this(found, "USD")
        seen += 1
        caution, _, _ = text.partition("\n")
        assert caution == CAUTION
        for words in (text, *facts):
            assert faults(words) == []
            assert re.search(r"\bsafe(ly|r|st)?\b", words, re.I) is None, words
    assert seen == 5 * 3 * 4 * 3


def test_the_caution_says_what_is_counted_and_who_comes_first():
    assert "bad day, or day below the dose target" in CAUTION
    assert "not a water test" in CAUTION
    assert "The makers' manuals, local codes and licensed practice come first." in CAUTION


def test_a_policy_that_leaves_the_taps_dry_is_out_before_cost():
    rows = pd.DataFrame(
        [
            {
                "policy": name,
                "replication": i,
                "years": 1.0,
                "cost": cost + (i * 7) % 5,
                "water_off_h": dry + i % 3,
            }
            | {"alarm_h": 1.0, "days_below_target": 0.0, "least_dose_j_m2": 500.0}
            | {"unusable_from_day": 310.0 if dry > 5000 and i % 3 else np.nan}
            for name, cost, dry in (("kept", 500.0, 20.0), ("shut off", 50.0, 8000.0))
            for i in range(40)
        ]
    )
    found = compare(rows, "kept", 5.0, limit_water_off_h=500.0)
    assert found.best == "kept"
    text = cautioned(sentences_of(found, "USD"))
    assert (
        "Over this house's limits: 'shut off' (out of use from about month 11: the taps give nothing for "
        "91 % of the time)." in text
    )
    assert compare(rows, "kept", 5.0).best == "shut off"
    none = compare(rows, "kept", 5.0, limit_water_off_h=5.0)
    assert none.best is None
    assert "No way keeps to this house's limits" in cautioned(sentences_of(none, "USD"))


def alarmed(kept_h, spread_h, runs=40):
    return pd.DataFrame(
        [
            {"policy": name, "replication": i, "years": 1.0, "cost": cost + (i * 7) % 5, "water_off_h": 5.0}
            | {"alarm_h": hours + spread_h * (i % 3 - 1), "days_below_target": 0.0, "least_dose_j_m2": 500.0}
            for name, cost, hours in (("often", 500.0, 100.0), ("seldom", 50.0, kept_h))
            for i in range(runs)
        ]
    )


@pytest.mark.parametrize(
    ("hours", "spread", "state", "said"),
    [
        (3000.0, 1.0, "over", "Over this house's limits: 'seldom' (3,000 hours a year of alarm)."),
        (900.0, 1.0, "within", "Choose 'seldom'"),
        (1000.0, 60.0, "at the limit", "'seldom' may be cheaper and stands at them"),
        (1000.0, 900.0, "undecided", "It cannot be told yet whether"),
    ],
)
def test_a_limit_of_alarm_hours_is_kept_like_the_others(hours, spread, state, said):
    found = compare(alarmed(hours, spread), "often", 5.0, limit_alarm_h=1000.0)
    assert found.summary("seldom").by_alarm.state == found.summary("seldom").standing == state
    text = cautioned(sentences_of(found, "USD"))
    assert said in text or (state == "undecided" and "it cannot be told yet whether 'seldom' keeps" in text)
    assert compare(alarmed(hours, spread), "often", 5.0).best == "seldom"


def test_where_only_the_alarm_stands_at_its_limit_that_is_what_is_told():
    rows = alarmed(1000.0, 60.0, 39)
    alone = compare(rows[rows["policy"] == "seldom"], "seldom", 5.0, limit_alarm_h=1000.0)
    assert "'seldom' stands at this house's limit: 1,000 hours a year of alarm" in cautioned(
        sentences_of(alone, "USD")
    )
    rows = alarmed(1000.0, 900.0, 39)
    alone = compare(rows[rows["policy"] == "seldom"], "seldom", 5.0, limit_alarm_h=1000.0)
    assert "keeps to 1,000 hours a year of alarm" in cautioned(sentences_of(alone, "USD"))


def test_two_that_cannot_be_told_apart_are_told_by_what_is_clear_and_what_is_open():
    days = np.where(np.arange(RUNS) < 3, 10.0, 0.0)  # mean 0.75, within the limit of 1; its bounds are not
    text = told(rows_of("a", 400.0 + NO_SPREAD), rows_of("b", 300.0 + NO_SPREAD, days), reference="a")
    assert text.startswith(
        "Choose 'a' to be within this house's limits of 1 bad day a year: about 400 USD a year. 'b' costs "
        "100 USD a year less. After 40 runs it cannot be told yet whether 'b' keeps to 1 bad day a year: it "
        "lies between 0"
    )
    accepted = float(re.search(r"Choose 'b' if you accept ([\d.]+) bad days a year\.", text)[1])
    # Two policies share the error there, one does not: what is told holds here all the more.
    at_that = compare(rows_of("b", 300.0 + NO_SPREAD, days), "b", accepted)
    assert at_that.summary("b").standing == "within" and accepted < 5.0


def test_whether_a_cheaper_one_has_as_few_days_is_said_to_be_open():
    text = told(
        rows_of("a", 400.0 + NO_SPREAD, 1.0 + 0.01 * SWING),
        rows_of("b", 300.0 + NO_SPREAD, 1.9 + 0.5 * SWING),
        reference="a", limit=5.0,
    )  # fmt: skip
    assert text.startswith(
        "After 40 runs it cannot be told yet whether to choose 'a' or 'b'. 'b' costs 100 USD a year less. It "
        "is open whether 'b' has as few bad days."
    )


def test_what_the_other_costs_more_goes_with_the_costs_as_they_are_printed():
    # 631.6 and 855.4 are printed as 632 and 855; 223.8 apart, which by itself would be printed as 224
    text = told(
        rows_of("as things fail", 631.6 + 3.0 * SWING),
        rows_of("by the readings", 855.4 + 3.0 * OTHER_SWING),
        reference="as things fail",
    )
    assert "about 632 USD a year. 'by the readings' costs 223 USD a year more" in text


def test_days_that_are_to_be_expected_are_not_said_to_be_none():
    frames = [rows_of("a", 400.0 + 3.0 * SWING), rows_of("b", 300.0 + 3.0 * OTHER_SWING)]
    none = "No policy had a day below the dose target in any run"
    assert any(fact.startswith(none) for fact in changes(*frames, reference="a"))
    for frame in frames:
        frame[DAYS_EXPECTED] = 0.5  # of known chances, that no run happened to meet
    assert not any(fact.startswith(none) for fact in changes(*frames, reference="a"))
