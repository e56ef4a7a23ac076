"""Every published case in `cases/*.csv` against our equations; where ours is another number the case says so.

Grades: S seen in the source, 2 second-hand, M from memory, C computed independently from the printed formula,
A assumed inputs (the arithmetic is still checked).
"""

import re
from pathlib import Path

import numpy as np
import pytest

from tests.published.equations import EQUATIONS
from tests.published.published_cases import ASIDE, HALF_DIGIT, KEPT, cases
from tests.published.second_program import PROGRAMS
from tests.published.used import only_tests_call

OF_PRODUCT, OF_TESTS = cases(), cases(ASIDE)
CASES = OF_PRODUCT + OF_TESTS
SUBJECTS = (
    "rain", "roof", "storage", "settling", "demand", "design", "peak flow", "pump", "pressure tank",
    "pipe", "fixture", "blocking laws", "cake filtration", "carbon", "uv optics",
    "dose tables", "lamp", "replacement", "water", "air", "statistics",
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda one: f"{one.subject}: {one.case}")
def test_case(case):
    actual = case.actual()
    if case.differs:  # a remark that is no longer true must go
        assert not case.agrees(actual), case
    else:
        assert case.agrees(actual), (case, actual)


def test_there_are_cases_of_every_subject():
    assert len(OF_PRODUCT) >= 100
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


@pytest.mark.parametrize("equation", sorted({case.equation for case in OF_PRODUCT}))
def test_a_counted_case_is_of_a_function_of_the_product(equation):
    assert only_tests_call(equation) == (), "to tests/published/aside/ with its cases"


@pytest.mark.parametrize("equation", sorted({case.equation for case in OF_TESTS}))
def test_a_case_set_aside_is_of_a_function_that_only_tests_call(equation):
    assert only_tests_call(equation), "back to tests/published/cases/ with its cases"


@pytest.mark.parametrize(
    "case", [one for one in CASES if one.origin == KEPT], ids=lambda one: f"{one.subject}: {one.case}"
)
def test_a_number_of_ours_is_what_the_kept_program_says(case):
    assert case.agrees(np.atleast_1d(np.asarray(PROGRAMS[case.equation](**case.arguments), dtype=float)))


def test_the_kept_program_shares_no_code_with_ours():
    source = (Path(__file__).parent / "second_program.py").read_text(encoding="utf-8")
    assert not re.search(r"^\s*(from|import) (sim|tests)\b", source, re.MULTILINE)
