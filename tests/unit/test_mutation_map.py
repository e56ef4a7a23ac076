"""Which tests are to notice a change: of compiled files by the map, of all others by what was recorded."""

from tests.mutation import choose
from tests.mutation.mutants import ROOMS, ROOT, TESTS, holding
from tests.mutation.validity import holds_compiled


def test_every_file_that_holds_compiled_functions_stands_in_the_map():
    files = [path.relative_to(ROOT).as_posix() for path in (ROOT / "sim").rglob("*.py")]
    compiled = [file for file in files if holds_compiled(file)]
    assert len(compiled) > 30 and all(holding(file) for file in compiled)
    assert all(any(file.startswith(room) for file in compiled) for room in ROOMS)


def test_all_that_the_map_names_is_there():
    named = {test for tests in (*ROOMS.values(), *TESTS.values()) for test in tests}
    assert [name for name in sorted({*named, *TESTS}) if not (ROOT / name).exists()] == []


FILE = "sim/outcome/brought.py"


def _recorded(monkeypatch, lines, cpu_s, files):
    reach = choose.Reach({FILE: {test: frozenset(found) for test, found in lines.items()}}, files, cpu_s)
    monkeypatch.setattr(choose, "recorded", lambda: reach)


def test_tests_of_a_line_come_by_how_few_files_they_touch_one_of_each_file_in_turn(monkeypatch):
    lines = {"a.py::one": [1], "a.py::two": [1], "b.py::one": [1], "b.py::two": [2]}
    cost = dict.fromkeys(lines, 1.0)
    _recorded(monkeypatch, lines, cost, {"a.py::one": 2, "a.py::two": 3, "b.py::one": 9, "b.py::two": 1})
    monkeypatch.setattr(choose, "statement", lambda source, line: range(line, line + 1))
    assert choose.tests_for(FILE, 1) == ["a.py::one", "b.py::one", "a.py::two"]
    assert choose.tests_for(FILE, 2) == ["b.py::two"]
    assert len(choose.tests_for(FILE, 3)) == 4  # run by none: those that run most of the file


def test_no_more_tests_than_the_budget_holds_but_one_at_least(monkeypatch):
    lines = {f"{n}.py::one": [1] for n in range(200)}
    monkeypatch.setattr(choose, "statement", lambda source, line: range(line, line + 1))
    _recorded(monkeypatch, lines, dict.fromkeys(lines, 1.0), dict.fromkeys(lines, 1))
    assert len(choose.tests_for(FILE, 1)) == int(choose.MOST_CPU_S)
    _recorded(monkeypatch, lines, dict.fromkeys(lines, 0.1), dict.fromkeys(lines, 1))
    assert len(choose.tests_for(FILE, 1)) == choose.MOST_TESTS
    _recorded(monkeypatch, lines, dict.fromkeys(lines, 99.0), dict.fromkeys(lines, 1))
    assert len(choose.tests_for(FILE, 1)) == 1


def test_costly_tests_come_after_all_that_take_less(monkeypatch):
    lines = {"a.py::slow": [1], "b.py::one": [1], "b.py::two": [1]}
    monkeypatch.setattr(choose, "statement", lambda source, line: range(line, line + 1))
    cost = {"a.py::slow": 1.1 * choose.COSTLY_S, "b.py::one": choose.COSTLY_S, "b.py::two": 0.1}
    _recorded(monkeypatch, lines, cost, {"a.py::slow": 1, "b.py::one": 2, "b.py::two": 3})
    assert choose.tests_for(FILE, 1) == ["b.py::one", "b.py::two", "a.py::slow"]


def test_a_file_of_numbers_alone_is_tried_by_the_tests_of_those_who_take_them(monkeypatch):
    """`sim/constants.py` has no function: `sim/outcome/signs.py` takes the length of a day from it."""
    lines = {"sim/outcome/signs.py": {"a.py::one": frozenset([90])}, FILE: {"b.py::one": frozenset([1])}}
    tests = ("a.py::one", "b.py::one")
    reach = choose.Reach(lines, dict.fromkeys(tests, 1), dict.fromkeys(tests, 1.0))
    monkeypatch.setattr(choose, "recorded", lambda: reach)
    assert choose.tests_for("sim/constants.py", 7) == ["a.py::one"]
