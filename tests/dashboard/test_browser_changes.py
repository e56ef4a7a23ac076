"""Changing a house in a real browser: address, rows on the command line, restart, and how the server ends."""

import os
import re
import shlex
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.dashboard.driving import alive, descendants, until

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]


class Server:
    """A dashboard on a port of its own, with a store of its own."""

    def __init__(self, cache):
        self.cache, self.process, self.port = cache, None, 0

    def start(self):
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "sim.cli", "dashboard", "--port", str(self.port)],
            cwd=ROOT, env=os.environ | {"PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(self.cache)},
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        until = time.monotonic() + 60.0
        while time.monotonic() < until:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return self
            time.sleep(0.1)
        raise AssertionError("the server did not start")

    def stop(self, sign=signal.SIGTERM):
        self.process.send_signal(sign)
        log = self.process.communicate(timeout=30)[0].decode()
        assert "Traceback" not in log, log

    def at(self, rest):
        return f"http://127.0.0.1:{self.port}/{rest}"


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    server = Server(tmp_path_factory.mktemp("store")).start()
    yield server
    server.stop()


@pytest.fixture
def tab(browser):
    context = browser.new_context(accept_downloads=True)
    page = context.new_page()
    page.context.set_default_timeout(60_000)
    expect.set_options(timeout=60_000)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    yield page
    assert faults == []
    context.close()


def typed(tab, label, text):
    box = tab.get_by_role("textbox", name=label, exact=True)
    box.fill(text)
    box.press("Enter")


def saved(tab, button, folder):
    with tab.expect_download() as waiting:
        tab.get_by_role("button", name=button).click()
    waiting.value.save_as(folder / waiting.value.suggested_filename)


def test_changes_reach_the_address_the_answer_and_the_command_line(tab, served, tmp_path):
    tab.goto(served.at("house"))
    tab.get_by_text("How much rain is caught and kept?").click()
    typed(tab, "Roof area, seen from above", "120 m2")
    tab.get_by_text("1 change against the house as chosen").wait_for()
    tab.get_by_role("link", name="Maintenance").click()
    typed(tab, "Every", "6 wk")
    tab.get_by_text("2 changes against the house as chosen").wait_for()
    tab.wait_for_url(re.compile("edits="))
    other = tab.context.new_page()  # a colleague
    other.goto(tab.url.replace("/maintenance?", "/compare?") + "&years=1&runs=2&seed=5")
    other.get_by_text("2 changes against the house as chosen").wait_for()
    other.get_by_role("button", name="Run the comparison").click()
    other.get_by_role("heading", name="The answer").wait_for()
    saved(other, "Rows of every run (CSV)", tmp_path)
    saved(other, "The site (TOML)", tmp_path)
    words = shlex.split(other.get_by_test_id("stCode").inner_text())
    command = [sys.executable, "-m", "sim.cli", *words[1:], "--out", "again", "--workers", "1"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    subprocess.run(command, cwd=tmp_path, env=environment, check=True, capture_output=True)
    assert (tmp_path / "again" / "rows.csv").read_bytes() == (tmp_path / "rows.csv").read_bytes()
    assert "120 m2" in (tmp_path / "site.toml").read_text()


def test_a_value_is_changed_and_put_back_by_keyboard_alone(tab, served):
    tab.goto(served.at("house"))
    tab.get_by_text("Which UV unit, and when does it warn?").click()
    box = tab.get_by_role("textbox", name="Alarm below this reading", exact=True)
    expect(box).to_have_value("60 %")
    box.focus()
    tab.keyboard.press("Control+A")
    tab.keyboard.type("120")
    tab.keyboard.press("Enter")
    tab.get_by_text(re.compile(r"uv\.alarm: read '120 %'; wanted below 1")).wait_for()
    expect(box).to_have_value("120 %")
    tab.get_by_text("What was changed").click()
    tab.get_by_role("button", name="Put back 1").press("Enter")
    expect(box).to_have_value("60 %")
    expect(tab.get_by_text("against the house as chosen")).to_have_count(0)


@pytest.mark.parametrize("sign", [signal.SIGTERM, pytest.param(signal.SIGINT, marks=pytest.mark.long)])
def test_an_answer_outlives_the_server_and_a_worker_does_not(tab, tmp_path, sign):
    server = Server(tmp_path).start()
    question = "compare?years=1&runs=2&seed=9"
    tab.goto(server.at(question))
    tab.get_by_role("button", name="Run the comparison").click()
    tab.get_by_role("heading", name="The answer").wait_for()
    said = tab.get_by_text(re.compile(r"Bounds hold at 95\s%")).inner_text()
    tab.goto(server.at("compare?years=20&runs=400"))
    tab.get_by_role("button", name="Run the comparison").click()
    tab.get_by_role("button", name="Stop").wait_for()
    begun = server.process.pid
    until(lambda: len(descendants(begun)) >= 2, 60.0)  # beside the one that has the code loaded
    workers = descendants(begun)
    assert len(workers) >= 2
    server.stop(sign)
    until(lambda: not any(map(alive, workers)), 15.0)
    server.start()
    tab.goto(server.at(question))
    tab.get_by_role("heading", name="The answer").wait_for()
    assert tab.get_by_text(re.compile(r"Bounds hold at 95\s%")).inner_text() == said
    assert len(descendants(server.process.pid)) == 1  # nobody is at work on it
    server.stop()
