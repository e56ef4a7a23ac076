"""Which lines of `sim/` each test runs, and at what cost: a plugin that keeps it while the tests run.

    python -m pytest -n 2 -m "not browser" -p tests.mutation.reach

writes `.mutation/reach/`. Only what runs in the process of the tests is seen, and nothing that is compiled.
Lines that fixtures run count for every test of their file.
"""

import json
import os
import shutil
import sys
import time
from collections import defaultdict
from pathlib import Path

import pytest

from tests.mutation.choose import FIXTURES, REACH
from tests.mutation.mutants import ROOT


class Watched:
    """Follows one process of pytest, its own or a worker's."""

    def __init__(self, worker: str) -> None:
        import coverage  # noqa: PLC0415  of the extra for mutation; tests are collected without it

        self.worker, self.cpu_s = worker, defaultdict(float)
        self.failed: set[str] = set()
        self.caches: dict[str, list] = {}  # of functions of `sim/`, by module
        self.found = coverage.Coverage(data_file=None, source=[str(ROOT / "sim")], config_file=False)
        self.found.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item):
        """Count the processor time of a test, fixtures and all."""
        self._forget()
        began_s = time.process_time()
        self.found.switch_context(f"{item.nodeid.partition('::')[0]}::{FIXTURES}")
        try:
            return (yield)
        finally:
            self.cpu_s[item.nodeid] = round(time.process_time() - began_s, 3)

    def _forget(self) -> None:
        """Empty what functions of `sim/` keep, or only the first test that asks would run their lines."""
        for name in sys.modules.keys() - self.caches.keys():
            held = vars(sys.modules[name]).values() if name.partition(".")[0] == "sim" else ()
            self.caches[name] = [one for one in held if hasattr(one, "cache_clear")]
        for found in self.caches.values():
            for one in found:
                one.cache_clear()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item):
        """Give what runs now to the test itself."""
        self.found.switch_context(item.nodeid)
        try:
            return (yield)
        finally:
            self.found.switch_context(f"{item.nodeid.partition('::')[0]}::{FIXTURES}")

    def pytest_runtest_logreport(self, report):
        """Note what fails as it is: it can hold nothing."""
        if report.failed:
            self.failed.add(report.nodeid)

    def pytest_sessionfinish(self):
        """Keep what was seen."""
        self.found.stop()
        data = self.found.get_data()
        lines: dict[str, dict[str, list[int]]] = defaultdict(dict)
        for path in data.measured_files():
            by_test = defaultdict(list)
            for line, tests in data.contexts_by_lineno(path).items():
                for test in tests:
                    by_test[test].append(line)
            file = Path(path).relative_to(ROOT).as_posix()
            for test, found in by_test.items():
                lines[test][file] = found
        told = {"cpu_s": self.cpu_s, "failed": sorted(self.failed), "lines": lines}
        REACH.mkdir(parents=True, exist_ok=True)
        (REACH / f"{self.worker}.json").write_text(json.dumps(told), encoding="utf-8")


def pytest_configure(config):
    """Follow the process that runs tests, not the one that hands them out."""
    worker = os.environ.get("PYTEST_XDIST_WORKER")
    if worker is None:
        shutil.rmtree(REACH, ignore_errors=True)
    if worker is not None or not config.getoption("numprocesses", None):
        config.pluginmanager.register(Watched(worker or "one"))
