"""What each step up buys: where there is none to tell, why."""

from types import SimpleNamespace

from sim.study.size.size_words import step_lines


def test_no_step_says_why():
    none_named = SimpleNamespace(steps=(), found=SimpleNamespace(chosen=None))
    alone = SimpleNamespace(steps=(), found=SimpleNamespace(chosen=object()))
    assert step_lines(none_named, "USD", "us") == [
        "No design is named, so there is no step from it to tell of."
    ]
    (said,) = step_lines(alone, "USD", "us")
    assert said.startswith("No step to tell of: no two values")
