"""How long the pages take: from the command to a usable first page, from page to page, and a question again.

Run it on a quiet machine: `python tests/bench/pages.py`. Needs chromium and playwright.
"""

import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numba
from playwright.sync_api import Page, sync_playwright

import sim.compiled  # noqa: F401  names the folder of compiled code

COMPILED = str(numba.config.CACHE_DIR)
ROOT = Path(__file__).parents[2]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
BUTTON = "Run the comparison"
WHOLE = {"Assumptions": "Every value of this site", "Compare policies": BUTTON}


def started(cache: str) -> tuple[subprocess.Popen, str]:
    """Start the dashboard as people do."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    process = subprocess.Popen(
        [sys.executable, "-m", "sim.cli", "dashboard", "--port", str(port)],
        cwd=ROOT,
        # No answer is known before, but compiled code is found where it is: it is made once on a machine.
        env=os.environ | {"PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": cache, "NUMBA_CACHE_DIR": COMPILED},
        stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT,
    )  # fmt: skip
    return process, f"http://127.0.0.1:{port}/"


def usable(page: Page, url: str) -> None:
    """Open a page until its button is there; a browser asks again while nobody answers."""
    while True:
        try:
            page.goto(f"{url}/compare")
            break
        except Exception:
            time.sleep(0.05)
    page.get_by_role("button", name=BUTTON).wait_for()


def answered(page: Page, url: str) -> float:
    """Ask the demo's question at its default size; return the time to the whole answer [s]."""
    page.goto(f"{url}/compare")
    page.get_by_role("button", name=BUTTON).wait_for()
    began = time.monotonic()
    page.get_by_role("button", name=BUTTON).click()
    page.get_by_role("heading", name="The answer").wait_for()
    page.locator(".js-plotly-plot").nth(4).wait_for()
    return time.monotonic() - began


def clicks(page: Page, whole: dict[str, str], rounds: int) -> list[float]:
    """Go from page to page; return the time of each until its content is there [s]."""
    taken = []
    for title in list(whole) * rounds:
        page.wait_for_timeout(400)
        began = time.monotonic()
        page.get_by_role("link", name=title, exact=True).click()
        page.get_by_text(whole[title]).first.wait_for()
        taken.append(time.monotonic() - began)
    return taken


def say(when: str, taken: list[float]) -> None:
    """Print the middle and the longest of some clicks."""
    print(
        f"{when}: {statistics.median(taken):.2f} s, longest of {len(taken)} {max(taken):.2f} s (wanted 1 s)"
    )


def main() -> None:
    """Print the times."""
    print(f"load before the start: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with sync_playwright() as driver, tempfile.TemporaryDirectory() as cache:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page()
        page.set_default_timeout(120_000)
        began = time.monotonic()
        process, url = started(cache)
        try:
            usable(page, url)
            print(f"command to usable first page: {time.monotonic() - began:.1f} s (wanted 5 s)")
            say("page to page", clicks(page, WHOLE, 4))
            print(f"demo comparison, first time: {answered(page, url):.1f} s (wanted 20 s)")
            again = browser.new_page()
            began = time.monotonic()
            again.goto(url)
            again.get_by_role("heading", name="The answer").wait_for()
            print(
                f"the same again, by a new visitor, page included: {time.monotonic() - began:.1f} s (1.5 s)"
            )
        finally:
            process.terminate()
            process.wait(20)
            browser.close()


if __name__ == "__main__":
    main()
