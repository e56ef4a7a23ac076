"""What stands before the pages: no other origin's scripts, frames or sockets; a name for each browser.

The server's own check lets a page of any port of this machine open a socket, and asks the network for this
machine's outer address before it refuses the others. Here they are refused before it looks.
"""

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Message, Receive, Send], Awaitable[None]]

VISITOR = "cisterntwin_visitor"  # the cookie that names a browser, for as long as it is open
_LOCAL = ("127.0.0.1", "localhost")
# Some scripts and styles stand in the server's page itself, and it compiles a reader of tables (WebAssembly).
POLICY = "; ".join((
    "default-src 'self'", "script-src 'self' 'unsafe-inline' 'wasm-unsafe-eval'",
    "style-src 'self' 'unsafe-inline'", "img-src 'self' data: blob:", "font-src 'self' data:",
    "worker-src 'self' blob:", "object-src 'none'", "frame-src 'none'", "frame-ancestors 'none'",
    "base-uri 'self'", "form-action 'self'",
))  # fmt: skip
HEADERS = {
    "content-security-policy": POLICY,
    "x-frame-options": "DENY",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
}


class Gate:
    """Refuses sockets that were not opened by a page of this server, and sends headers with every answer."""

    def __init__(self, app: App) -> None:
        """Stand before an app."""
        self._app = app

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Let a request pass, or refuse it."""
        if scope["type"] == "websocket" and not _own(scope):
            await send({"type": "websocket.close", "code": 1008})  # answered 403, as nothing was accepted
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                more = [(name.encode(), value.encode()) for name, value in _headers(scope).items()]
                message["headers"] = [*message.get("headers", ()), *more]
            await send(message)

        await self._app(scope, receive, with_headers if scope["type"] == "http" else send)


def _header(scope: Message, name: str) -> str:
    return next((value.decode("latin-1") for key, value in scope["headers"] if key == name.encode()), "")


def _own(scope: Message) -> bool:
    """Return whether a socket comes from a page of this address and port."""
    port = scope["server"][1]
    hosts = [f"{name}:{port}" for name in _LOCAL] + (list(_LOCAL) if port == 80 else [])
    host = _header(scope, "host")
    return host in hosts and _header(scope, "origin") == f"http://{host}"


def _headers(scope: Message) -> dict[str, str]:
    wants_page = "text/html" in _header(scope, "accept")
    if not wants_page or f"{VISITOR}=" in _header(scope, "cookie"):
        return HEADERS
    cookie = f"{VISITOR}={secrets.token_urlsafe(18)}; Path=/; HttpOnly; SameSite=Strict"
    return {**HEADERS, "set-cookie": cookie}
