"""The answer in words: numbers known by hand go in as rows, the sentences come out."""

import re

import numpy as np
import pandas as pd
import pytest

from sim.study.caution import CAUTION, cautioned
from sim.study.compare.comparison import compare
from sim.study.compare.sentences import (
    from_to,
    plus_minus,
    sentences_of,
    three_digits,
    what_would_change_this,
)
from sim.study.statistics.intervals import Interval

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
            "unsafe_water_h": 2.0,
            "days_below_target": days,
            "least_dose_j_m2": 400.0,
        }
    )


def told(*frames, reference, limit=1.0, asked=None):
    """The sentences without the caution, which is checked here once for all."""
    found = compare(pd.concat(frames, ignore_index=True), reference, limit)
    text = cautioned(sentences_of(found, "USD", asked))
    sentences, _, caution = text.partition("\n")
    assert caution == CAUTION
    return sentences


def changes(*frames, reference, limit=1.0):
    return what_would_change_this(compare(pd.concat(frames, ignore_index=True), reference, limit), "USD")


BASIS = "Intervals are at 95 % confidence, from 40 runs of 10 years."


def test_the_cheaper_one_without_days_is_told_in_two_sentences():
    # A swing of 37 gives 37 x 0.32389 = 12.0.
    text = told(
        rows_of("by the calendar", 420.0 + NO_SPREAD),
        rows_of("by the readings", 335.0 + 37.0 * SWING, np.zeros(RUNS)),
        reference="by the calendar",
    )
    assert text == (
        "'by the readings' costs 85 ± 12 USD a year less than 'by the calendar' and leaves no day below the "
        "dose target in 40 of 40 runs (upper bound 7.2 % of runs), as does every policy. " + BASIS
    )


def test_the_reference_as_the_best_names_the_next():
    text = told(
        rows_of("a", 400.0 + 10 * OTHER_SWING),
        rows_of("b", 485.0 + 10 * OTHER_SWING + 37.0 * SWING),
        rows_of("c", 900.0 + 10 * OTHER_SWING, 50.0 + SWING),
        reference="a",
    )
    # The next is given among three policies: t(39, 0.9875) = 2.331 in place of 2.023, so +/- 14 (rounded
    # from 13.8).
    assert text == (
        "'a', the reference, costs the least, 400.0 ± 3.2 USD a year, and leaves no day below the dose "
        "target in 40 of 40 runs (upper bound 7.2 % of runs). Next is 'b', 85 ± 14 USD a year more; left out "
        "before cost, for the limit of 1 day a year below the dose target: 'c' (50.0, upper bound 50.3). "
        + BASIS
    )


def test_a_dearer_policy_wins_over_a_reference_past_the_limit():
    text = told(
        rows_of("never", 100.0 + NO_SPREAD, 60.0 + SWING),
        rows_of("readings", 185.0 + 37.0 * SWING),
        reference="never",
        limit=2.0,
    )
    assert text.startswith("'readings' costs 85 ± 12 USD a year more than 'never' and leaves no day")
    assert "Left out before cost, for the limit of 2 days a year below the dose target: 'never' (60.0" in text


def test_the_only_one_within_the_limit_is_said_to_be():
    text = told(
        rows_of("a", 400.0 + 37.0 * SWING),
        rows_of("never", 100.0 + NO_SPREAD, 60.0 + SWING),
        reference="a",
    )
    assert text.startswith(
        "'a', the reference, is the only one within the limit, at 400 ± 12 USD a year, and leaves"
    )


def test_costs_that_cannot_be_told_apart_are_not():
    text = told(rows_of("a", 400.0 + NO_SPREAD), rows_of("b", 395.0 + 37.0 * SWING), reference="a")
    assert text.startswith(
        "'b' costs about as much as 'a' (5 ± 12 USD a year less, which may be no difference) and leaves"
    )
    assert "These runs cannot tell its cost from that of 'a'." in text


def test_equal_costs_stay_with_the_reference():
    text = told(
        rows_of("a", 400.0 + 37.0 * SWING),
        rows_of("b", 400.0 + 37.0 * SWING),
        rows_of("c", 400.0 + 37.0 * SWING),
        reference="b",
    )
    assert text.startswith("'b', the reference, costs the least, 400 ± 12 USD a year")
    assert "These runs cannot tell its cost from that of 'a' and 'c'." in text


def test_the_same_cost_as_a_reference_past_the_limit_is_said():
    text = told(
        rows_of("a", 400.0 + 37.0 * SWING, 60.0 + SWING), rows_of("b", 400.0 + 37.0 * SWING), reference="a"
    )
    assert text.startswith("'b' costs the same as 'a' in every run and leaves no day below the dose target")


def test_days_are_given_with_bounds_and_runs():
    days = np.where(np.arange(RUNS) < 20, 4.0, 0.0)
    text = told(rows_of("a", 400.0 + 37.0 * SWING, days), reference="a", limit=5.0)
    found = re.search(
        r"and leaves 2\.0\d? \((\d\.\d+) to (\d\.\d+)\) days a year below the dose target", text
    )
    assert found is not None
    assert float(found[1]) < 2.0 < float(found[2])
    assert "none in 20 of 40 runs" in text
    assert text.startswith("'a' costs 400 ± 12 USD a year and leaves")


def test_nobody_within_the_limit_is_told_without_costs():
    text = told(
        rows_of("a", 400.0 + NO_SPREAD, 80.0 + SWING),
        rows_of("b", 100.0 + NO_SPREAD, 60.0 + SWING),
        reference="a",
    )
    assert text.startswith(
        "No policy is shown to keep within the limit of 1 day a year below the dose target, so costs are not "
        "compared. Fewest: 'b', 60.00 (59."
    )
    assert "any in 40 of 40 runs." in text
    assert "USD" not in text


def test_a_limit_of_zero_cannot_be_shown():
    text = told(rows_of("a", 400.0 + SWING), rows_of("b", 390.0 + SWING), reference="a", limit=0.0)
    assert text.startswith("No number of runs can show the limit of 0 days a year below the dose target")
    assert "Fewest: 'a' and 'b', 0 (0 to 0.28) a year, any in 0 of 40 runs." in text  # -ln 0.025 x 30 / 400


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0.0, "In it 'b' cost 85.0 USD a year less than 'a' and left no day below the dose target."),
        (9.0, "In it 'a' cost 420 USD a year and left no day below the dose target."),
    ],
)
def test_one_run_gives_no_interval(days, words):
    text = told(rows_of("a", 420.0), rows_of("b", 335.0, days), reference="a")
    assert text == "One run: no interval can be given, and no policy is called the cheapest. " + words


def test_one_run_past_the_limit_tells_of_the_fewest_days():
    text = told(rows_of("a", 420.0, 30.0), rows_of("b", 335.0, 12.0), reference="a")
    assert text.endswith(
        "In it 'b' cost 85.0 USD a year less than 'a' and left 12.0 days a year below the dose target."
    )


def test_an_interrupted_study_says_how_far_it_came():
    frames = (rows_of("a", 400.0 + 37.0 * SWING), rows_of("b", 485.0 + NO_SPREAD))
    assert told(*frames, reference="a", asked=100).endswith(
        "from 40 of 100 runs of 10 years, as the study was interrupted."
    )
    assert told(*frames, reference="a", asked=40).endswith(BASIS)
    one = told(rows_of("a", 420.0), reference="a", asked=8)
    assert one.endswith("The study was interrupted after 1 of 8 runs of 10 years.")


class TestWhatWouldChange:
    def test_a_rival_within_the_interval_and_the_runs_to_settle_it(self):
        facts = changes(rows_of("a", 400.0 + NO_SPREAD), rows_of("b", 394.0 + 37.0 * SWING), reference="a")
        # 40 runs x (11.98 / 6)^2 = 159.5.
        assert facts[0] == (
            "'a' may be the cheapest, at 6 ± 12 USD a year more than 'b'; about 160 runs in place of 40 "
            "would settle a difference this large."
        )

    def test_a_difference_too_small_to_settle(self):
        facts = changes(rows_of("a", 400.0 + NO_SPREAD), rows_of("b", 399.9 + 37.0 * SWING), reference="a")
        assert "more than 10,000 runs" in facts[0]

    def test_a_dearer_rival_and_what_it_would_take(self):
        facts = changes(rows_of("a", 420.0 + NO_SPREAD), rows_of("b", 335.0 + 37.0 * SWING), reference="a")
        assert facts[0] == "'a' would have to become 85 ± 12 USD a year cheaper to match 'b'."

    def test_equal_costs(self):
        facts = changes(rows_of("a", 400.0 + SWING), rows_of("b", 400.0 + SWING), reference="a")
        assert facts[0] == "'b' costs as much as 'a'; choose between them by something else."
        assert facts[-1].startswith("No policy had a day below the dose target in any run")

    def test_limits_that_turn_the_finding_round_stay_true_when_used(self):
        days = np.where(
            np.arange(RUNS) < 15, 2.0, 0.0
        )  # mean 0.75, some 1.96 x 0.98 / sqrt(40) = 0.30 either way
        frames = (rows_of("a", 400.0 + 37.0 * SWING), rows_of("b", 100.0 + NO_SPREAD, days))
        facts = changes(*frames, reference="a")
        (lets_in,) = [fact for fact in facts if "would be let in" in fact]
        assert (
            "which cost 300 USD a year less than 'a'; its mean is within the limit, so more runs might"
            in lets_in
        )
        (leaves_out,) = [fact for fact in facts if "would be left out" in fact]
        rows = pd.concat(frames, ignore_index=True)
        limit = float(re.search(r"limit of ([\d.]+)", lets_in)[1])
        assert limit > 1.0
        assert compare(rows, "a", limit).best == "b"
        limit = float(re.search(r"limit under ([\d.]+)", leaves_out)[1])
        assert compare(rows, "a", limit * 0.9999).best is None

    def test_few_runs_are_said_to_be_few(self):
        assert "3 runs hardly show the spread" in changes(rows_of("a", [1.0, 2.0, 3.0]), reference="a")[-1]
        assert changes(rows_of("a", 1.0), reference="a") == ["One run shows no spread; 10 or more would."]

    def test_the_weak_spot_of_the_bound_is_named(self):
        facts = changes(rows_of("a", 400.0 + SWING), reference="a")
        assert (
            "For 'a', no run had such a day; the upper bound allows for a run, unseen, with 30 of them."
            in facts
        )


class TestNumbers:
    @pytest.mark.parametrize(
        ("estimate", "half", "words"),
        [
            (-85.2, 12.2, "85 ± 12"),
            (85.26, 9.96, "85 ± 10"),  # 9.96 rounds up to a third digit, so one is dropped
            (85.26, 1.234, "85.3 ± 1.2"),
            (12345.0, 1234.0, "12,300 ± 1,200"),
            (0.2, 12.0, "0 ± 12"),
            (85.0, 0.0, "85.0"),
            (85.0, 0.001, "85.00 ± less than 0.01"),
        ],
    )
    def test_half_width_has_two_digits_and_sets_the_decimals(self, estimate, half, words):
        assert plus_minus(Interval(estimate, estimate - half, estimate + half, 0.95, "", 40)) == words

    @pytest.mark.parametrize(
        ("value", "words"),
        [
            (0.0, "0"),
            (12.0, "12.0"),
            (0.0719, "0.07"),
            (999.6, "1,000"),
            (123456.0, "123,000"),
            (-5.678, "-5.68"),
        ],
    )
    def test_three_digits_and_no_exponent(self, value, words):
        assert three_digits(value) == words

    def test_bounds_share_the_decimals_of_their_width(self):
        assert from_to(Interval(0.75, 0.0, 1.52, 0.95, "", 40)) == "0.75 (0 to 1.52)"
        assert from_to(Interval(60.0, 57.28, 62.2, 0.95, "", 40)) == "60.0 (57.3 to 62.2)"
        assert from_to(Interval(3.0, float("nan"), float("nan"), 0.95, "", 1)) == "3.00"


def words_of_every_kind():
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
                    found = compare(pd.concat(frames[:count], ignore_index=True), "first", limit)
                    yield cautioned(sentences_of(found, "USD", 50)), what_would_change_this(found, "USD")


def test_words_are_never_broken_and_never_promise():
    seen = 0
    for text, facts in words_of_every_kind():
        seen += 1
        sentences, _, caution = text.partition("\n")
        assert caution == CAUTION
        assert 1 <= sentences.count(". ") + 1 <= 4
        for words in (text, *facts):
            assert re.search(r"\b(nan|inf|None)\b|\de[+-]\d|-0\b", words) is None, words
            assert re.search(r"\bsafe(ly|r|st)?\b", words.replace("unsafe-water hours", ""), re.I) is None, (
                words
            )
            assert "  " not in words
            assert ".." not in words
    assert seen == 5 * 3 * 4 * 3


def test_the_caution_says_what_is_counted_and_who_comes_first():
    assert "days below the dose target" in CAUTION
    assert "not a water test" in CAUTION
    assert "local codes and licensed practice" in CAUTION


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
            | {"unsafe_water_h": 1.0, "days_below_target": 0.0, "least_dose_j_m2": 500.0}
            for name, cost, dry in (("kept", 500.0, 20.0), ("shut off", 50.0, 8000.0))
            for i in range(40)
        ]
    )
    found = compare(rows, "kept", 5.0, limit_water_off_h=500.0)
    assert found.best == "kept"
    text = cautioned(sentences_of(found, "USD"))
    assert "left out before cost, for leaving the taps dry: 'shut off' (8,000" in text.replace("Left", "left")
    assert compare(rows, "kept", 5.0).best == "shut off"
    none = compare(rows, "kept", 5.0, limit_water_off_h=5.0)
    assert none.best is None
    assert "No policy keeps within both" in cautioned(sentences_of(none, "USD"))
