"""When a task is due, signal by signal and at the limit itself."""

import itertools

import pytest

from sim.scenario.effects import TASK_EFFECTS
from sim.upkeep.rules import failure_due, reading_due


@pytest.mark.parametrize(
    ("drop_pa", "uv", "short_pa", "limits", "due"),
    [
        (6.9e4, 0.1, 1e6, (6.9e4, None, None), False),  # at the limit, not above it
        (6.91e4, 1.0, 0.0, (6.9e4, None, None), True),
        (6.8e4, 0.1, 1e6, (6.9e4, None, None), False),  # the other signals are not looked at
        (1e9, 0.60, 1e9, (None, 0.60, None), False),
        (0.0, 0.59, 0.0, (None, 0.60, None), True),
        (1e9, 0.1, 2.9e4, (None, None, 2.9e4), False),
        (0.0, 1.0, 2.91e4, (None, None, 2.9e4), True),
        (1e9, 0.0, 1e9, (None, None, None), False),
    ],
)
def test_a_reading_rule_looks_at_its_own_signal(drop_pa, uv, short_pa, limits, due):
    drop_above, uv_below, off = limits
    assert reading_due(drop_pa, drop_above, uv, uv_below, short_pa, off) is due


ALL = list(itertools.product((False, True), repeat=5))  # alarm, dark, wiped in vain, broken, starving


@pytest.mark.parametrize("effect", ["wiped sleeve", "wiped sensor window"])
def test_wiping_answers_an_alarm_of_a_lit_lamp_not_wiped_of_late(effect):
    due = {signs for signs in ALL if failure_due(effect, *signs)}
    assert due == {(True, False, False, broken, weak) for broken in (False, True) for weak in (False, True)}


def test_a_new_lamp_answers_a_dark_lamp_or_an_alarm_that_wiping_did_not_clear():
    for alarm, dark, vain, broken, weak in ALL:
        assert failure_due("new lamp", alarm, dark, vain, broken, weak) == (dark or (alarm and vain))


def test_a_cartridge_answers_weak_taps_and_a_repair_its_broken_part():
    for signs in ALL:
        assert failure_due("new cartridge", *signs) is signs[4]
        assert failure_due("rinsed cartridge", *signs) is signs[4]
        assert failure_due("new pump", *signs) is signs[3]
        assert failure_due("new pressure tank", *signs) is signs[3]


def test_something_calls_for_an_effect_just_where_the_list_of_effects_says_so():
    """The schema refuses rules by that list; here each effect meets every sign at once and one by one."""
    for effect, needs in TASK_EFFECTS.items():
        assert any(failure_due(effect, *signs) for signs in ALL) is needs.noticed, effect
