"""Numbers, differences and counts in words, over what chance makes of them."""

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.study import wording
from sim.study.statistics.intervals import Interval
from sim.study.wording import DAYS, Words, counted, difference, from_to, money, number, plus_minus
from tests.plain_words import FAULTS, faults

NUMBER = re.compile(r"(?<![\w.])-?\d[\d,]*(?:\.\d+)?")
KINDS = (money("USD"), DAYS, Words("psi", decimals=1))
NAN = float("nan")

# Of every size, near and far from zero, and with all the ties that rounding has.
sizes = st.one_of(
    st.floats(-1e7, 1e7), st.floats(-1.0, 1.0), st.floats(-0.02, 0.02), st.integers(-400, 400).map(float),
    st.integers(-4000, 4000).map(lambda tenths: tenths / 20.0),
)  # fmt: skip


@st.composite
def intervals(draw):
    low, estimate, high = sorted(draw(st.tuples(sizes, sizes, sizes)))
    kind = draw(st.sampled_from(["uneven", "even", "none", "no width"]))
    if kind == "even":
        half = min(estimate - low, high - estimate)
        low, high = estimate - half, estimate + half
    elif kind == "none":
        low = high = NAN
    elif kind == "no width":
        low = high = estimate
    return Interval(estimate, low, high, 0.95, "made up", draw(st.integers(1, 100)))


def values_in(text):
    """Return each number of a text with half the place of its last digit that is not a rounded zero."""
    for found in NUMBER.findall(text):
        whole, _, decimals = found.replace(",", "").partition(".")
        digits = whole.lstrip("-")
        zeros = 0 if decimals or len(digits) < 4 else len(digits) - 3
        yield float(found.replace(",", "")), 0.5 * 10.0 ** (zeros - len(decimals)), len(decimals)


ANYTHING = given(
    intervals(), st.sampled_from(KINDS), st.sampled_from(["", "'a'"]), st.sampled_from([0.0, 25.0]), sizes
)


@settings(max_examples=1_500, deadline=None)
@ANYTHING
def test_what_is_said_of_an_interval_is_true_and_plain(gap, words, other, matters, count):
    _check_said(gap, words, other, matters, count)


@pytest.mark.long
@settings(max_examples=10_000, deadline=None)
@ANYTHING
def test_what_is_said_of_many_intervals_is_true_and_plain(gap, words, other, matters, count):
    _check_said(gap, words, other, matters, count)


def _check_said(gap, words, other, matters, count):
    text = difference(gap, words, other, matters)
    assert faults(text) == []
    assert re.search(r"-\d", text) is None
    for _, _, decimals in values_in(text):
        assert decimals <= (words.decimals or 2)
    _check_side(text, gap, words, matters)
    _check_truth(text, gap, words)
    if not gap.known or gap.low >= 0 or gap.high <= 0:  # else it is no size
        assert re.search(r"-\d", plus_minus(gap)) is None
    if gap.estimate >= 0:
        assert re.search(r"-\d", from_to(gap)) is None
    _check_number(count)
    whole = int(count)
    assert counted(whole, "day") == f"{whole:,} day{'' if whole == 1 else 's'}"


def _check_side(text, gap, words, matters):
    """More, less, the same or untold, by the bounds alone."""
    more, less = "more" in text, words.less in text
    same, untold = "as much" in text or "as many" in text, wording.UNTOLD in text
    if not gap.known or gap.low == gap.high:
        assert more + less + same == 1 and not untold
        assert same or more == (gap.estimate > 0)
    elif gap.low <= 0 <= gap.high:
        assert same != untold
        assert not same or max(-gap.low, gap.high) <= max(matters, 0.05)
        assert not (more and less) or "between" in text
        assert not (untold and more and not less) or "at most" in text
    else:
        assert not untold
        assert same or (more, less) == (gap.low > 0, gap.high < 0)
        assert not same or max(abs(gap.low), abs(gap.high)) < 0.05


def _check_truth(text, gap, words):
    """Every number said is one of the interval's, to half its last digit; what is under a number is."""
    known = [abs(one) for one in (gap.estimate, gap.low, gap.high, gap.half_width) if math.isfinite(one)]
    if bound := re.search(r"under ([\d.]+)", text):
        assert (max if "apart" in text else min)(known) < float(bound[1])
        known.append(float(bound[1]))
    for value, half, _ in values_in(text):
        assert any(abs(value - one) <= half * (1 + 1e-9) for one in known), text


def _check_number(value):
    shown = number(value)
    if shown == "under 0.01":
        assert 0 < value < 0.00501
        return
    found = float(shown.replace(",", ""))
    size = abs(value)
    step = (
        0.01
        if size < 1
        else 0.1
        if size < 10
        else 1.0
        if size < 1000
        else 10.0 ** (int(math.log10(size)) - 2)
    )
    assert abs(found - value) <= 0.5 * step * (1 + 1e-9) + 1e-12
    assert shown == "0" or shown.lstrip("-") != "0"
    digits = shown.replace(",", "").lstrip("-0.").replace(".", "").rstrip("0")
    assert len(digits) <= (2 if size < 99.5 else 3)
    assert found == pytest.approx(wording.rounded(value), abs=0)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("leaves -0.2 (-8.2 to 1.3) more days a year", "a negative more, less or fewer"),
        ("costs -3 USD a year less", "a negative more, less or fewer"),
        ("costs 0 USD a year less", "more or less by nothing"),
        ("a change of (-0 ± 13,000)", "a minus before a zero"),
        ("known to -0.00", "a minus before a zero"),
        ("2.6666666667 days", "a number without end"),
        ("1e+05 gal", "an exponent"),
        ("nan days", "what is no number"),
        ("in 1 days", "one of many"),
        ("in 12 day", "many of one"),
        ("so it ends..", "two blanks, or two stops"),
        ("The upper bound is 3", "words nobody at a tap would use"),
    ],
)
def test_the_check_of_words_can_fail(text, fault):
    assert [found.partition(":")[0] for found in faults(text)] == [fault]
    assert fault in FAULTS


def test_the_check_of_words_lets_plain_ones_pass():
    text = (
        "On 2027-01-03 it cost 85 ± 12 USD a year less, in 1 run of 10 years; -20 to 30 C; 0 days; 0.01 more."
    )
    assert faults(text) == []


@pytest.mark.parametrize(
    ("parts", "words"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_lists_are_said_as_people_say_them(parts, words):
    assert wording.listed(parts) == words


def test_a_capital_changes_no_other_letter():
    assert wording.capital("uV unit") == "UV unit"
    assert wording.capital("") == ""


def test_bounds_are_rounded_to_the_side_on_which_they_stay_true():
    assert wording.towards(3.126, up=True) == "3.2"
    assert wording.towards(3.126, up=False) == "3.1"
    assert wording.towards(0.0, up=False) == "0"


@pytest.mark.parametrize(
    ("estimate", "half", "words"),
    [
        (-85.2, 12.2, "85 ± 12"),
        (85.26, 9.96, "85 ± 10"),  # 9.96 rounds up to a third digit, so one is dropped
        (5.26, 1.234, "5.3 ± 1.2"),
        (12345.0, 1234.0, "12,300 ± 1,230"),
        (0.2, 12.0, "0.20 ± 12"),
        (85.0, 0.0, "85"),
        (85.0, 0.3, "85"),  # less than half of the last digit shown
    ],
)
def test_an_estimate_with_its_half_width(estimate, half, words):
    assert plus_minus(Interval(estimate, estimate - half, estimate + half, 0.95, "", 40)) == words


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0"), (12.0, "12"), (0.0719, "0.07"), (999.6, "1,000"), (123456.0, "123,000"), (-5.678, "-5.7")],
)
def test_two_digits_three_from_a_hundred_on_and_no_exponent(value, words):
    assert number(value) == words


def test_estimates_with_their_bounds():
    assert from_to(Interval(0.75, 0.0, 1.52, 0.95, "", 40)) == "0.75 (0 to 1.5)"
    assert from_to(Interval(60.0, 57.28, 62.2, 0.95, "", 40)) == "60 (57 to 62)"
    assert from_to(Interval(60.0, 59.9, 60.2, 0.95, "", 40)) == "60"
    assert from_to(Interval(3.0, NAN, NAN, 0.95, "", 1)) == "3.0"
    assert wording.mean_seen(Interval(0.0, 0.0, 0.0, 0.95, "", 23)) == "0 (none in 23 runs)"
    assert wording.percents(Interval(0.62, 0.4823, 0.7413, 0.95, "Wilson", 50)) == "62 % (48 to 74)"
