"""On every page the caution stands before the first number, setting or step that it guards."""

import pytest

from sim.study.caution import BRIEF, CAUTION
from tests.dashboard.driving import opened, settled

GUARDED = {"selectbox", "slider", "number_input", "text_input", "expander", "table"}


def _walked(block):
    """Yield what stands in a block, in the order in which it is drawn."""
    for child in block.children.values():
        yield child
        if hasattr(child, "children"):
            yield from _walked(child)


def _kinds(at):
    """Return the kinds and words of what a page draws below its title."""
    found = [(getattr(one, "type", ""), str(getattr(one, "value", ""))) for one in _walked(at.main)]
    title = next(k for k, (kind, _) in enumerate(found) if kind == "title")
    return found[title + 1 :]


def _first(found, holds):
    return next((k for k, one in enumerate(found) if holds(*one)), len(found))


def _says(text):
    return CAUTION in text or BRIEF in text.replace("\\", "")


@pytest.mark.parametrize("page", ["views/house.py", "views/maintenance.py"])
def test_what_is_set_stands_behind_the_caution(page):
    found = _kinds(opened(page))
    caution = _first(found, lambda _kind, words: _says(words))
    assert caution < _first(found, lambda kind, _words: kind in GUARDED) < len(found)


def test_days_and_doses_of_a_run_stand_behind_the_caution():
    at = settled(opened("views/history.py", years="1", seed="3", day="60"))
    found = _kinds(at)
    cautions = [k for k, (_, words) in enumerate(found) if CAUTION in words]
    days = _first(found, lambda _kind, words: "days below the dose target and" in words)
    doses = _first(found, lambda _kind, words: "least dose of the day" in words)
    assert cautions[0] < days < len(found)
    header = _first(found, lambda kind, words: kind == "header" and words == "A day in detail")
    assert header < doses < len(found) and any(header < k < doses for k in cautions)
