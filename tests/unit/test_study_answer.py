"""The answer in words: numbers known by hand go in as rows, the sentences come out."""

import re

import numpy as np
import pandas as pd
import pytest

from sim.study.caution import CAUTION, cautioned
from sim.study.compare.comparison import compare
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
    text = cautioned(sentences_of(found, "USD", asked))
    caution, _, sentences = text.partition("\n")
    assert caution == CAUTION
    assert faults(text) == []
    return sentences


def changes(*frames, reference, limit=1.0):
    facts = what_would_change_this(compare(pd.concat(frames, ignore_index=True), reference, limit), "USD")
    assert faults("\n".join(facts)) == []
    return facts


BASIS = "Bounds hold at 95 % confidence, from 40 runs of 10 years."


def test_the_cheaper_one_without_days_is_told_in_two_sentences():
    # A swing of 37 gives 37 x 0.32389 = 12.0.
    text = told(
        rows_of("by the calendar", 420.0 + NO_SPREAD),
        rows_of("by the readings", 335.0 + 37.0 * SWING, np.zeros(RUNS)),
        reference="by the calendar",
    )
    assert text == (
        "'by the readings' costs 85 ± 12 USD a year less than 'by the calendar' and leaves no day below the "
        "dose target in 40 of 40 runs (at most 7.2 % of all runs have one), as does every policy. " + BASIS
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
        "'a', the reference, costs the least, 400 ± 3.2 USD a year, and leaves no day below the dose "
        "target in 40 of 40 runs (at most 7.2 % of all runs have one). Next is 'b', 85 ± 14 USD a year more; "
        "not compared on cost, because over the limit of 1 day a year: 'c' (50, at most 50). " + BASIS
    )


def test_a_dearer_policy_wins_over_a_reference_past_the_limit():
    text = told(
        rows_of("never", 100.0 + NO_SPREAD, 60.0 + SWING),
        rows_of("readings", 185.0 + 37.0 * SWING),
        reference="never",
        limit=2.0,
    )
    assert text.startswith("'readings' costs 85 ± 12 USD a year more than 'never' and leaves no day")
    assert "Not compared on cost, because over the limit of 2 days a year: 'never' (60, at most 60)." in text


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
        "'b' costs between 17 USD a year less and 7.0 more than 'a' (cannot be told which) and leaves"
    )
    assert "Its cost cannot be told from that of 'a'." in text


def test_equal_costs_stay_with_the_reference():
    text = told(
        rows_of("a", 400.0 + 37.0 * SWING),
        rows_of("b", 400.0 + 37.0 * SWING),
        rows_of("c", 400.0 + 37.0 * SWING),
        reference="b",
    )
    assert text.startswith("'b', the reference, has the least mean cost, 400 ± 12 USD a year")
    assert "Its cost cannot be told from that of 'a' and 'c'." in text


def test_the_same_cost_as_a_reference_past_the_limit_is_said():
    text = told(
        rows_of("a", 400.0 + 37.0 * SWING, 60.0 + SWING), rows_of("b", 400.0 + 37.0 * SWING), reference="a"
    )
    assert text.startswith("'b' costs the same as 'a' in every run and leaves no day below the dose target")


def test_days_are_given_with_bounds_and_runs():
    days = np.where(np.arange(RUNS) < 20, 4.0, 0.0)
    text = told(rows_of("a", 400.0 + 37.0 * SWING, days), reference="a", limit=5.0)
    found = re.search(r"and leaves 2\.0 \((\d\.\d) to (\d\.\d)\) days a year below the dose target", text)
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
        "compared. Fewest: 'b', 60 a year, any in 40 of 40 runs."
    )
    assert "USD" not in text


def test_a_limit_of_zero_cannot_be_shown():
    text = told(rows_of("a", 400.0 + SWING), rows_of("b", 390.0 + SWING), reference="a", limit=0.0)
    assert text.startswith("No number of runs can show the limit of 0 days a year below the dose target")
    assert "Fewest: 'a' and 'b', 0 (0 to 0.28) a year, any in 0 of 40 runs." in text  # -ln 0.025 x 30 / 400


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0.0, "In it 'b' cost 85 USD a year less than 'a' and left no day below the dose target."),
        (9.0, "In it 'a' cost 420 USD a year and left no day below the dose target."),
    ],
)
def test_one_run_gives_no_interval(days, words):
    text = told(rows_of("a", 420.0), rows_of("b", 335.0, days), reference="a")
    assert text == "One run gives no bounds, and shows no policy to be the cheapest. " + words


def test_one_run_past_the_limit_tells_of_the_fewest_days():
    text = told(rows_of("a", 420.0, 30.0), rows_of("b", 335.0, 12.0), reference="a")
    assert text.endswith(
        "In it 'b' cost 85 USD a year less than 'a' and left 12 days a year below the dose target."
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
            "'a' may be the cheapest: it costs between 6.0 USD a year less and 18 more than 'b' (cannot be "
            "told which); about 160 runs in place of 40 would tell them apart."
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
        assert "For 'a', no run had such a day; the bounds allow for a run, unseen, with 30 of them." in facts


def test_who_is_over_the_limit_and_who_is_only_not_shown_within_it_are_told_apart():
    some = np.where(np.arange(RUNS) < 15, 2.0, 0.0)  # mean 0.75, within the limit of 1; its bounds are not
    text = told(
        rows_of("a", 400.0 + 37.0 * SWING),
        rows_of("never", 100.0 + NO_SPREAD, 60.0 + SWING),
        rows_of("seldom", 200.0 + NO_SPREAD, some),
        reference="a",
    )
    found = re.search(
        r"Not compared on cost, because over the limit of 1 day a year: 'never' \(60, at most 60\); because "
        r"not shown to keep within it: 'seldom' \(0\.75, at most (\d\.\d)\)\.",
        text,
    )
    assert found is not None, text
    assert float(found[1]) > 1.0


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
        caution, _, sentences = text.partition("\n")
        assert caution == CAUTION
        assert 1 <= sentences.count(". ") + 1 <= 4
        for words in (text, *facts):
            assert faults(words) == []
            assert re.search(r"\bsafe(ly|r|st)?\b", words.replace("unsafe-water hours", ""), re.I) is None, (
                words
            )
    assert seen == 5 * 3 * 4 * 3


def test_the_caution_says_what_is_counted_and_who_comes_first():
    assert "days below the dose target" in CAUTION
    assert "not a water test" in CAUTION
    assert "Local codes and licensed practice come first." in CAUTION


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
            for name, cost, dry in (("kept", 500.0, 20.0), ("shut off", 50.0, 8000.0))
            for i in range(40)
        ]
    )
    found = compare(rows, "kept", 5.0, limit_water_off_h=500.0)
    assert found.best == "kept"
    text = cautioned(sentences_of(found, "USD"))
    assert (
        "Not compared on cost, because over the limit of water-off hours: 'shut off' (8,000 h a year)" in text
    )
    assert compare(rows, "kept", 5.0).best == "shut off"
    none = compare(rows, "kept", 5.0, limit_water_off_h=5.0)
    assert none.best is None
    assert "No policy keeps within both" in cautioned(sentences_of(none, "USD"))
