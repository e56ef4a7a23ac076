"""Every published case in `cases/*.csv` against our equations; where ours is another number the case says so.

Grades: S seen in the source, 2 second-hand, M from memory, C computed independently from the printed formula,
A assumed inputs (the arithmetic is still checked).
"""

import pytest

from tests.published.equations import EQUATIONS
from tests.published.published_cases import HALF_DIGIT, cases

CASES = cases()
SUBJECTS = (
    "rain", "roof", "storage", "settling", "demand", "design", "peak flow", "pump", "pressure tank",
    "pipe", "fixture", "cartridge", "blocking laws", "cake filtration", "carbon", "uv optics",
    "dose tables", "lamp", "replacement", "queue", "water",
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda one: f"{one.subject}: {one.case}")
def test_case(case):
    actual = case.actual()
    if case.differs:  # a remark that is no longer true must go
        assert not case.agrees(actual), case
    else:
        assert case.agrees(actual), (case, actual)


def test_there_are_cases_of_every_subject():
    assert len(CASES) >= 100
    assert {case.subject for case in CASES} == set(SUBJECTS)


def test_every_equation_is_used_and_every_case_stands_once():
    assert {case.equation for case in CASES} == set(EQUATIONS)
    names = [(case.subject, case.case) for case in CASES]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("case", CASES, ids=lambda one: f"{one.subject}: {one.case}")
def test_a_case_says_what_it_rests_on(case):
    assert case.source and case.unit and case.reason and case.grade in tuple("S2MCA")
    assert bool(case.tolerance) == (case.reason != HALF_DIGIT)


def test_a_case_can_fail():
    case = next(one for one in CASES if not one.differs)
    assert not case.agrees(case.actual() + 1.1 * case.allowed)
