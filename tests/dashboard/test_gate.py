"""The dashboard keeps to itself: its own origin, headers of its own, and no word to any other machine."""

import http.client
import json
import os
import subprocess
import sys

import pytest

from dashboard.gate import HEADERS, VISITOR
from tests.dashboard.conftest import Server

# Runs first in every Python process that finds it: whatever leaves this machine is noted and refused.
NO_NETWORK = """
import json, os, socket
_connect, _look_up = socket.socket.connect, socket.getaddrinfo
def _refuse(what):
    with open(os.environ["NOTED"], "a") as file:
        file.write(json.dumps(str(what)) + "\\n")
    raise OSError("no network")
def connect(self, address):
    if self.family != socket.AF_UNIX and address[0] not in ("127.0.0.1", "::1", "localhost"):
        _refuse(address)
    return _connect(self, address)
def look_up(host, *more, **named):
    if host not in (None, "127.0.0.1", "::1", "localhost"):
        _refuse(host)
    return _look_up(host, *more, **named)
socket.socket.connect, socket.getaddrinfo = connect, look_up
"""


@pytest.fixture(scope="module")
def alone(tmp_path_factory):
    """Start a server that is denied the network; return it and the file of what it asked for."""
    folder = tmp_path_factory.mktemp("alone")
    (folder / "sitecustomize.py").write_text(NO_NETWORK)
    (folder / "noted").touch()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("NOTED", str(folder / "noted"))
        server = Server(folder, first=str(folder))
    yield server, folder / "noted"
    server.process.terminate()
    server.process.wait(timeout=20)


def opening(port, **headers):
    """Ask for a socket as a browser does; return how it was answered."""
    asked = {
        "Host": f"127.0.0.1:{port}", "Upgrade": "websocket", "Connection": "Upgrade",
        "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==", "Sec-WebSocket-Version": "13", **headers,
    }  # fmt: skip
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    line.request("GET", "/_stcore/stream", headers=asked)
    found = line.getresponse().status
    line.close()
    return found


def got(port, path="/", **headers):
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    line.request("GET", path, headers=headers)
    answer = line.getresponse()
    answer.read()
    line.close()
    return answer


FOREIGN = [
    {},  # a browser always says where it comes from
    {"Origin": "http://a.example"},
    {"Origin": "http://127.0.0.1:1"},  # another program of this machine
    {"Origin": "http://localhost:1"},
    {"Origin": "http://127.0.0.1"},
    {"Origin": "https://127.0.0.1:PORT"},
    {"Origin": "http://localhost:PORT"},  # another name than was asked for
    {"Origin": "null"},
    {"Origin": "http://127.0.0.1:PORT.a.example"},
    {"Host": "a.example:PORT", "Origin": "http://a.example:PORT"},  # a name that was made to lead here
]


@pytest.mark.parametrize("headers", FOREIGN)
def test_a_socket_of_another_origin_is_refused_and_nothing_is_looked_up(alone, headers):
    server, noted = alone
    said = {name: value.replace("PORT", str(server.port)) for name, value in headers.items()}
    assert opening(server.port, **said) == 403
    assert noted.read_text() == ""


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_a_socket_of_its_own_page_is_opened(alone, host):
    server, noted = alone
    own = f"{host}:{server.port}"
    assert opening(server.port, Host=own, Origin=f"http://{own}") == 101
    assert noted.read_text() == ""


@pytest.mark.browser
def test_a_page_opens_and_answers_without_the_network(alone, browser):
    server, noted = alone
    page = browser.new_page()
    page.goto(f"{server.url}/history?years=1&seed=3&day=60")
    page.get_by_text("Draws of this day").first.wait_for(timeout=60_000)
    page.close()
    assert noted.read_text() == ""
    assert "Traceback" not in server.log


def test_the_denial_of_the_network_can_fail(alone, tmp_path):
    _, noted = alone
    (tmp_path / "noted").touch()
    program = "import socket\ntry:\n    socket.getaddrinfo('a.example', 80)\nexcept OSError:\n    pass"
    environment = os.environ | {"PYTHONPATH": str(noted.parent), "NOTED": str(tmp_path / "noted")}
    subprocess.run([sys.executable, "-c", program], env=environment, check=True)
    assert json.loads((tmp_path / "noted").read_text()) == "a.example"


@pytest.mark.parametrize("path", ["/", "/history", "/_stcore/health", "/nothing"])
def test_every_answer_says_what_may_run_and_that_no_frame_may_hold_it(alone, path):
    answer = got(alone[0].port, path)
    for name, value in HEADERS.items():
        assert answer.getheader(name) == value
    policy = dict(part.strip().split(" ", 1) for part in HEADERS["content-security-policy"].split(";"))
    # Content Security Policy Level 3 (W3C): no other host in any list, nothing evaluated, framed by nobody
    assert policy["frame-ancestors"] == policy["object-src"] == policy["frame-src"] == "'none'"
    assert policy["default-src"] == "'self'"
    assert not any("://" in value or "*" in value or "'unsafe-eval'" in value for value in policy.values())


def test_a_browser_is_named_once(alone):
    port = alone[0].port
    named = got(port, Accept="text/html").getheader("set-cookie")
    assert named.startswith(f"{VISITOR}=")
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(named.split("; "))
    assert VISITOR not in str(
        got(port, Accept="text/html", Cookie=named.split(";")[0]).getheader("set-cookie")
    )
