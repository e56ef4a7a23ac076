"""Two visitors at once, and fifty studies in one session: clicks of the second, memory of the server.

Run it on a quiet machine: `python tests/bench/visitors.py`. Needs chromium and playwright.
"""

import os
import re
import tempfile
import time
from pathlib import Path

from pages import BUTTON, CHROMIUM, clicks, say, started, usable
from playwright.sync_api import Page, sync_playwright

WHOLE = {
    "Maintenance": "When what is done",
    "The house": "What counts as good enough?",
    "Assumptions": "Every value of this site",
}
ROUNDS = 12
STUDIES = 50


def two_at_once(first: Page, second: Page, url: str) -> None:
    """Time the second visitor's clicks, with nothing else to do and while a study of 300 runs goes on."""
    usable(second, url)
    say("page to page, alone", clicks(second, WHOLE, ROUNDS))
    first.goto(f"{url}/compare?years=5&runs=300")
    first.get_by_role("button", name=BUTTON).click()
    first.get_by_role("button", name="Stop").wait_for()
    time.sleep(8)
    say("page to page, another's study running", clicks(second, WHOLE, ROUNDS))
    first.get_by_role("button", name="Stop").click()
    first.get_by_text(re.compile("^Stopped")).wait_for()


def resident_mib(process_id: int) -> float:
    """Memory of a process in the machine's main store [MiB]."""
    status = Path(f"/proc/{process_id}/status").read_text()
    return int(re.findall(r"VmRSS:\s+(\d+)", status)[0]) / 1024


def study(page: Page, seed: int) -> None:
    """Ask for one more study, with another seed, and wait for its answer."""
    box = page.get_by_role("spinbutton", name="Random seed")
    if not box.is_visible():
        page.get_by_text("How long, how many runs").click()
    box.fill(str(seed))
    box.press("Enter")
    page.wait_for_url(re.compile(rf"seed={seed}\b"))
    page.get_by_role("button", name=BUTTON).click()
    page.get_by_role("heading", name="The answer").wait_for()


def answers(cache: str) -> int:
    """Count the answers the server has put on disk."""
    return sum(1 for _ in Path(cache).rglob("answer.json"))


def many_studies(page: Page, url: str, process_id: int, cache: str) -> None:
    """Run studies in one session, none answered before; print how much the server grew from the fifth."""
    page.goto(f"{url}/compare?years=1&runs=2")
    page.get_by_role("button", name=BUTTON).wait_for()
    kept, before = {}, answers(cache)
    for number in range(1, STUDIES + 6):
        study(page, 1000 + number)
        while answers(cache) < before + number:
            time.sleep(0.05)
        kept[number] = resident_mib(process_id)
    grown = kept[STUDIES + 5] - kept[5]
    print(f"server after 5 studies: {kept[5]:.0f} MiB; after {STUDIES} more {grown:+.0f} MiB (wanted 100 MB)")


def main() -> None:
    """Print the times and the memory."""
    print(f"load before the start: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with sync_playwright() as driver, tempfile.TemporaryDirectory() as cache:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        pages = [browser.new_context(viewport={"width": 1280, "height": 1500}).new_page() for _ in range(2)]
        for page in pages:
            page.set_default_timeout(120_000)
        process, url = started(cache)
        try:
            two_at_once(*pages, url)
            many_studies(pages[0], url, process.pid, cache)
        finally:
            process.terminate()
            process.wait(20)
            browser.close()


if __name__ == "__main__":
    main()
