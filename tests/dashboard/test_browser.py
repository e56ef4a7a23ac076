"""The pages in a real browser, served as `cisterntwin dashboard` serves them."""

import http.client
import os
import re
import shlex
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = "_stcore/"  # the pages' own probe for their base path, answered 404 below the root


@pytest.fixture(scope="module")
def server():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", "sim.cli", "dashboard", "--port", str(port)],
        cwd=ROOT, env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    until = time.monotonic() + 30.0
    while time.monotonic() < until:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                break
        time.sleep(0.1)
    yield port
    process.send_signal(signal.SIGTERM)
    log = process.communicate(timeout=20)[0].decode()
    assert "Traceback" not in log, log


@pytest.fixture(scope="module")
def browser():
    if CHROMIUM is None and "CI" not in os.environ:  # never skipped where changes are checked
        pytest.skip("no chromium on this machine")
    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield found
        found.close()


@pytest.fixture
def page(browser, server):
    context = browser.new_context(accept_downloads=True)
    tab = context.new_page()
    tab.set_default_timeout(60_000)
    faults, hosts = [], set()
    tab.on("pageerror", lambda error: faults.append(str(error)))
    tab.on("response", lambda r: faults.append(r.url) if r.status >= 400 and QUIET not in r.url else None)
    tab.on("request", lambda r: hosts.add(re.sub(r"^\w+://([^/]*).*", r"\1", r.url)))
    tab.on("websocket", lambda w: hosts.add(re.sub(r"^\w+://([^/]*).*", r"\1", w.url)))
    yield tab
    assert faults == []
    assert {host for host in hosts if not host.startswith(("blob:", "data:"))} == {f"127.0.0.1:{server}"}
    context.close()


def test_the_page_and_the_command_line_give_the_same_rows(page, server, tmp_path):
    page.goto(f"http://127.0.0.1:{server}/?years=1&runs=2&seed=5")
    page.get_by_role("button", name="Run the comparison").click()
    page.get_by_role("heading", name="The answer").wait_for()
    for button in ("Rows of every run (CSV)", "The site (TOML)"):
        with page.expect_download() as waiting:
            page.get_by_role("button", name=button).click()
        waiting.value.save_as(tmp_path / waiting.value.suggested_filename)
    words = shlex.split(page.get_by_test_id("stCode").inner_text())
    assert words[:3] == ["cisterntwin", "compare", "site.toml"]
    command = [sys.executable, "-m", "sim.cli", *words[1:], "--out", "again", "--workers", "1"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    told = subprocess.run(command, cwd=tmp_path, env=environment, check=True, capture_output=True, text=True)
    assert (tmp_path / "again" / "rows.csv").read_bytes() == (tmp_path / "rows.csv").read_bytes()
    shown = page.get_by_text(re.compile("Intervals are at 95 %")).inner_text()
    assert " ".join(shown.split()) in " ".join(told.stdout.split())


def test_the_report_can_be_made_and_loads_nothing(page, server, tmp_path):
    page.goto(f"http://127.0.0.1:{server}/?years=1&runs=2&seed=5")
    page.get_by_role("button", name="Run the comparison").click()
    page.get_by_role("button", name="Make the report").click()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="The report (HTML)", exact=True).click()
    waiting.value.save_as(tmp_path / "report.html")
    text = (tmp_path / "report.html").read_text()
    assert "local codes and licensed practice" in text
    assert not re.search(r"<(script|link|img)[^>]+(src|href)=.http", text)


def test_an_address_brings_the_same_question(page, server):
    page.goto(f"http://127.0.0.1:{server}/")
    page.get_by_role("radio", name="SI").click()
    page.wait_for_url(re.compile("units=SI"))
    other = page.context.new_page()
    other.goto(page.url)
    chosen = other.get_by_role("radio", name="SI")
    chosen.wait_for()
    assert chosen.get_attribute("aria-checked") == "true"


def test_a_long_study_can_be_stopped_while_the_page_stays_usable(page, server):
    page.goto(f"http://127.0.0.1:{server}/?years=5&runs=400")
    page.get_by_role("button", name="Run the comparison").click()
    page.get_by_role("button", name="Stop").wait_for()
    other = page.context.new_page()  # a second visitor
    began = time.monotonic()
    other.goto(f"http://127.0.0.1:{server}/rests_on")
    other.get_by_text("Every value of this site").wait_for()
    assert time.monotonic() - began < 8.0
    page.get_by_role("button", name="Stop").click()
    page.get_by_text(re.compile("^Stopped")).wait_for()


@pytest.mark.parametrize("name", ["history", "rests_on"])
def test_every_page_opens(page, server, name):
    page.goto(f"http://127.0.0.1:{server}/{name}")
    page.get_by_text(
        {"history": "Months at a glance", "rests_on": "Every value of this site"}[name]
    ).wait_for()


def test_markup_in_names_is_text(page, server):
    page.goto(f"http://127.0.0.1:{server}/")
    page.get_by_text("Your own house or rain").click()
    name = "<script>document.title='x'</script><img src=//a.example/b>"
    text = f'extends = "cottage"\nname = "{name}"\n'.encode()
    page.locator("input[type=file]").first.set_input_files(
        {"name": "mine.toml", "mimeType": "text/plain", "buffer": text}
    )
    page.get_by_text(name).wait_for()
    assert page.title() != "x"


@pytest.mark.parametrize("header", [{"Host": "a.example"}, {"Origin": "http://a.example"}])
def test_a_foreign_host_or_origin_is_refused(server, header):
    asked = {
        "Host": f"127.0.0.1:{server}", "Upgrade": "websocket", "Connection": "Upgrade",
        "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==", "Sec-WebSocket-Version": "13",
    }  # fmt: skip
    answers = []
    for more in ({}, header):
        line = http.client.HTTPConnection("127.0.0.1", server, timeout=10)
        line.request("GET", "/_stcore/stream", headers=asked | more)
        answers.append(line.getresponse().status)
        line.close()
    assert answers == [101, 403]
