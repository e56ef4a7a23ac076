"""Numbers that several pages ask for: what one page was told is kept, unless the next cannot take it."""

import pytest

from tests.dashboard.driving import begun, standing_on

NAMES = ("policy", "policies", "size_policies", "tuned", "care", "tasks")
ASKING = (
    "compare.py",
    "skipped_work.py",
    "sizes.py",
    "intervals.py",
)  # a history would start its run at once


def opened(page):
    return turned(begun(), page)


def turned(at, page):
    standing_on(at, f"views/{page}").run()
    assert not at.exception, page
    return at


def limits(at):
    return {one.key: (one.min, one.max) for one in at.number_input}


def test_one_run_is_not_taken_where_a_search_wants_two():
    at = opened("compare.py")
    at.number_input(key="runs").set_value(1).run()
    for page in ("sizes.py", "intervals.py"):
        turned(at, page)
        assert at.number_input(key="runs").value == 8  # of these pages
    turned(at, "compare.py")
    at.number_input(key="runs").set_value(3).run()
    assert turned(at, "sizes.py").number_input(key="runs").value == 3


@pytest.mark.parametrize("page", ASKING)
@pytest.mark.parametrize("first", ASKING)
@pytest.mark.parametrize("end", [0, 1])
def test_a_page_takes_the_least_and_the_most_of_another(first, page, end):
    at = opened(first)
    told = limits(at)
    for key, ends in told.items():
        at.number_input(key=key).set_value(ends[end])
    at.run()
    assert not at.exception
    turned(at, page)
    assert {"years", "runs", "seed"} <= told.keys() & limits(at).keys()
    for one in at.number_input:
        assert one.min <= one.value <= one.max, one.key


def test_another_house_and_page_leave_no_choice_that_is_not_there():
    at = opened("intervals.py")
    at.selectbox(key="tuned").set_value("by the readings").run()
    at.multiselect(key="only-by the readings").select("replace lamp").run()
    at.file_uploader(key="toml").upload(
        "mine.toml",
        b'extends = "cottage"\n[[policy]]\nname = "mine"\ntechnician_every = "6 month"\n',
        "text/plain",
    ).run()
    assert not at.exception
    assert at.selectbox(key="tuned").value in at.selectbox(key="tuned").options
    for page in ("compare.py", "skipped_work.py", "sizes.py", "maintenance.py"):
        turned(at, page)
        for one in [*at.selectbox, *at.multiselect]:
            if one.key in NAMES:
                chosen = one.value if isinstance(one.value, list) else [one.value]
                assert set(chosen) <= set(one.options), (page, one.key)
