"""How tests without a browser come to a page and wait for what it asked; what a browser was sent."""

import time
from pathlib import Path

from streamlit.testing.v1 import AppTest

from dashboard import frame
from dashboard.pages import PAGES

APP = str(Path(__file__).parents[2] / "dashboard" / "app.py")
ELSEWHERE = "views/house.py"  # the first page would begin to sample years


def begun(page=ELSEWHERE, **state):
    """Come to a page that asks nothing, with an address; then stand on another without having come to it."""
    at = AppTest.from_file(APP, default_timeout=60)
    at.query_params.update(state)
    at.switch_page(ELSEWHERE).run()
    return standing_on(at, page)


def standing_on(at, page):
    """Stand on a page as one who was there before: who comes to it asks its question at once."""
    at.session_state["page"] = dict(PAGES)[page.removeprefix("views/")]
    return at.switch_page(page)


def opened(page, **state):
    """Open a page with an address, and ask nothing yet."""
    at = begun(page, **state).run()
    at.run()  # the address reaches the widgets of a page one run after it was switched to
    assert not at.exception
    return at


def settled(at, patience_s=120.0):
    """Wait until no worker is busy, without running the page meanwhile: it would take the workers' time."""
    until = time.monotonic() + patience_s
    while any(job.active for job in frame.jobs()._jobs.values()) or at.run().get("progress"):
        assert time.monotonic() < until, "a worker took too long"
        time.sleep(0.2)
    assert not at.exception
    return at


def table_with(at, column):
    """Return the first table of a page that has a column."""
    return next(item.value for item in at.dataframe if column in item.value.columns)


def read(text):
    """Return a text of a page as people read it: without what keeps signs as they are, and lines together."""
    return text.replace("\\", "").replace("\u00a0", " ")


def still(page):
    """Wait until a page of a browser is drawn: before, a button moves away from under the mouse."""
    page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for()


def at_rest(page, patience_ms=60_000):
    """Wait until a page of a browser is drawn, and no work goes on that would draw it again."""
    still(page)  # before, a progress that is still to be drawn is hidden too
    page.get_by_test_id("stProgress").first.wait_for(state="hidden", timeout=patience_ms)
    still(page)


def listening(page):
    """Return the list in which all that its websocket brings to a page of a browser is kept."""
    sent = []

    def keep(frame):
        sent.append(frame)

    page.on("websocket", lambda socket: socket.on("framereceived", keep))
    return sent


def received(sent):
    """Return what was kept as bytes."""
    return b"\n".join(one if isinstance(one, bytes) else one.encode() for one in sent)


def until(happened, seconds=120.0):
    """Wait until something has happened; return what it came to."""
    end = time.monotonic() + seconds
    while not (found := happened()):
        assert time.monotonic() < end
        time.sleep(0.1)
    return found


def descendants(pid):
    """Return the processes a process started, and theirs."""
    children = [int(word) for task in Path(f"/proc/{pid}/task").iterdir()
                for word in (task / "children").read_text().split()]  # fmt: skip
    return children + [other for child in children for other in descendants(child)]


def alive(pid):
    """Return whether a process runs."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False
