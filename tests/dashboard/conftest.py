"""One server, one browser and a store of answers of their own for the tests of the pages.

The server is started as `cisterntwin dashboard` starts it; compiled code is still found where it is.
"""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import numba
import pytest
from playwright.sync_api import sync_playwright
from streamlit import config

import sim.compiled  # noqa: F401  names the folder of compiled code
from dashboard.pages import PAGES
from tests.dashboard.driving import still

ROOT = Path(__file__).parents[2]
# The shell is the same engine without a window around it, and less work.
CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium-headless-shell", "chromium", "chromium-browser"))), None
)
# Below the root the pages' own script first looks for its server beside the page, then finds it at the root:
# these two addresses, of the page that was opened, are answered 404 and nothing else may be.
_BELOW = "|".join(file.removesuffix(".py") for file, _ in PAGES[1:])
PROBES = re.compile(rf"^http://127\.0\.0\.1:\d+/({_BELOW})/_stcore/(health|host-config)$")


@pytest.fixture(scope="session", autouse=True)
def as_served():
    """Run pages without a browser under the setting of the server that a test would notice."""
    config.set_option("runner.postScriptGC", False)


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """Keep answers and diaries out of the user's folders, in this process and in those it starts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(os.environ, "NUMBA_CACHE_DIR", numba.config.CACHE_DIR)
        patch.setitem(os.environ, "XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        patch.setitem(os.environ, "CISTERNTWIN_DIARIES", str(tmp_path_factory.mktemp("diaries")))
        patch.setitem(os.environ, "CISTERNTWIN_PATHS", "16")  # enough for what is asked here
        yield


class Server:
    """The dashboard in a process of its own, with its log."""

    def __init__(self, folder, first=""):
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.log_path = folder / "server.log"
        self.url = f"http://127.0.0.1:{self.port}"
        with self.log_path.open("wb") as log:
            path = os.pathsep.join(filter(None, (first, str(ROOT))))
            self.environment = os.environ | {"PYTHONPATH": path}
            self.process = subprocess.Popen(
                [sys.executable, "-m", "sim.cli", "dashboard", "--port", str(self.port)],
                cwd=ROOT, env=self.environment, stdout=log, stderr=subprocess.STDOUT,
            )  # fmt: skip
        until = time.monotonic() + 30.0
        while time.monotonic() < until:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.1)
        raise AssertionError(f"the server did not come up: {self.log}")

    @property
    def log(self):
        return self.log_path.read_text(errors="replace")


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    found = Server(tmp_path_factory.mktemp("server"))
    yield found
    found.process.send_signal(signal.SIGTERM)
    found.process.wait(timeout=20)


@pytest.fixture(scope="session")
def browser():
    if CHROMIUM is None and "CI" not in os.environ:  # never skipped where changes are checked
        pytest.skip("no chromium on this machine")
    with sync_playwright() as driver:
        # All tabs of a server in one process of the browser: the next one finds the scripts read already.
        found = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--process-per-site"])
        yield found
        found.close()


@pytest.fixture(scope="session")
def usual(browser, server):
    """Return what ordinary visits share, one after another; a tab left open keeps its process alive."""
    found = browser.new_context(base_url=server.url, accept_downloads=True)
    found.new_page().goto("/_stcore/health")
    yield found
    found.close()


class Visit:
    """One visitor: what the browser complained of, and every host it spoke to."""

    def __init__(self, context):
        self.faults, self.hosts, self.tabs = [], set(), []
        self._context = context
        self._heard = {"page": self._opened, "request": self._asked, "response": self._answered}
        context.set_default_timeout(60_000)
        for what, hear in self._heard.items():
            context.on(what, hear)

    def end(self):
        """Close all that was opened."""
        for tab in self.tabs:
            tab.close()
        for what, hear in self._heard.items():
            self._context.remove_listener(what, hear)

    def _opened(self, tab):
        self.tabs.append(tab)
        tab.on("pageerror", lambda error: self.faults.append(str(error)))
        tab.on("console", self._said)
        tab.on("websocket", lambda socket: self.hosts.add(socket.url.split("/")[2]))

    def _asked(self, request):
        self.hosts.add(request.url.split("/")[2])

    def _answered(self, response):
        if response.status >= 400 and not PROBES.match(response.url):
            self.faults.append(f"{response.status} {response.url}")

    def _said(self, message):
        if message.type == "error" and not PROBES.match(message.location["url"]):
            self.faults.append(f"{message.text} at {message.location}")


@pytest.fixture
def visit(browser, server, usual):
    """Begin a visit; afterwards neither console nor server log may show a fault, nor any other host."""
    begun, others, already = [], [], len(server.log)

    def begin(**options):
        if begun or options:  # another visitor beside the first, or another screen
            context = browser.new_context(base_url=server.url, accept_downloads=True, **options)
            others.append(context)
        else:
            context = usual
            context.clear_cookies()  # by which the server knows a visitor
            context.pages[0].evaluate("localStorage.clear()")
        begun.append(Visit(context))
        return context.new_page()

    yield begin
    for one in begun:
        one.end()
    for context in others:
        context.close()
    for one in begun:
        assert one.faults == []
        assert {host for host in one.hosts if host} == {f"127.0.0.1:{server.port}"}
    assert not re.search(r"Traceback|Error|Exception|WARNING", server.log[already:]), server.log[already:]


@pytest.fixture
def page(visit):
    return visit()


@pytest.fixture
def compared():
    """Run the comparison of a page and wait for all of its answer.

    What stood on a page stays until its next run is over: the answer to the question before is no answer.
    """

    def run(page):
        still(page)
        page.get_by_role("button", name="Run the comparison").click()
        page.wait_for_timeout(300)  # until the page knows that it runs
        page.get_by_role("heading", name="Keep it").wait_for()
        still(page)
        return page

    return run


@pytest.fixture
def fetched(tmp_path):
    """Press a download button; return the file."""

    def fetch(page, name):
        with page.expect_download() as waiting:
            page.get_by_role("button", name=name, exact=True).first.click()
        path = tmp_path / waiting.value.suggested_filename
        waiting.value.save_as(path)
        return path

    return fetch


@pytest.fixture
def command_line(tmp_path):
    """Run words of a command line in the folder of the downloads; return what it printed."""

    def run(words):
        command = [sys.executable, "-m", "sim.cli", *words[1:], "--out", "again", "--workers", "1"]
        environment = os.environ | {"PYTHONPATH": str(ROOT)}
        told = subprocess.run(
            command, cwd=tmp_path, env=environment, check=True, capture_output=True, text=True
        )
        return told.stdout

    return run
