"""The map of which tests are to notice a change: all of `sim/` stands in it, and all it names is there."""

from tests.mutation.mutants import ROOMS, ROOT, TESTS, by_room, holding

# Folders whose tests are those of the folder above; a new folder is to be given tests.
BY_THE_ONE_ABOVE = {
    *("sim/diary/read/", "sim/report/figures/", "sim/report/html/"),
    *("sim/study/close_up/", "sim/study/one_run/"),
}


def test_every_file_of_sim_stands_in_the_map_once():
    files = {path.relative_to(ROOT).as_posix() for path in (ROOT / "sim").rglob("*.py")}
    code = {file for file in files if not file.endswith("__init__.py")}
    assert code == set(by_room()) | set(TESTS)
    assert not set(by_room()) & set(TESTS)
    assert all(holding(file) for file in code)


def test_every_folder_has_tests():
    folders = {file.rpartition("/")[0] + "/" for file in by_room()}
    assert folders - set(ROOMS) == BY_THE_ONE_ABOVE


def test_all_that_the_map_names_is_there():
    named = {test for tests in (*ROOMS.values(), *TESTS.values()) for test in tests}
    assert [name for name in sorted({*named, *TESTS}) if not (ROOT / name).exists()] == []
