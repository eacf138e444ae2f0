"""The gate of the page: who may ask it, how much may be sent, and what a browser may do with it.

A page of another site can make a browser send requests to this machine, under a name of its own if
it likes. So the address holds a secret, the host must be the one that is served, what changes
anything must come from this page, and nothing is allowed to be read or embedded elsewhere.
"""

import secrets
from collections.abc import Iterable
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY: Final = 1 << 20
"""Bytes of a request, as many as a case file may have."""

POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""What the page may load and do: what this server gives, and no script or style within it."""

FILE_POLICY: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"
)
"""The same for files that are opened by themselves; their own styles stand in them."""

_HEADERS: Final = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # To this page itself the address may be told, or its own forms would come from nowhere.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
_TOO_MUCH: Final = "that is too much"
_METHODS: Final = frozenset({"GET", "HEAD", "POST"})
_NEAR: Final = frozenset({"same-origin", "none"})


class Gate:
    """Refuses what does not come from the page itself; what passes goes on without the secret.

    Parameters
    ----------
    app : ASGI application
    token : str
        The secret first part of every path.
    hosts : iterable of str
        Names with the port under which the page is served.
    """

    def __init__(self, app: ASGIApp, token: str, hosts: Iterable[str]) -> None:
        self.app, self.token, self.hosts = app, token, frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close"})
            return
        refused = self._refused(scope)
        if refused is not None:
            status, why = refused
            await PlainTextResponse(why, status, headers=_HEADERS)(scope, receive, send)
            return

        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        within = {**scope, "path": scope["path"][len(self.token) + 1 :], "root_path": ""}
        await self.app(within, _limited(receive), answer)

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return 403, "this is not the host that is served"
        if not self._knows(scope["path"]):
            return 404, "nothing is here; use the address that was printed"
        if scope["method"] not in _METHODS:
            return 405, "not here"
        if not _from_here(headers, scope["method"], hosts[0]):
            return 403, "this comes from another page"
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > 12 or int(length) > LARGEST_BODY:
            return 413, _TOO_MUCH
        return None

    def _knows(self, path: str) -> bool:
        """Whether a path begins with the secret, told in the same time whatever it begins with."""
        first, slash, _ = path.removeprefix("/").partition("/")
        return secrets.compare_digest(first.encode(), self.token.encode()) and slash == "/"


def _from_here(headers: Headers, method: str, host: str) -> bool:
    """Whether a request comes from this page, or from who opens it by its address."""
    if headers.get("sec-fetch-site", "none") not in _NEAR:
        return False
    return method != "POST" or headers.getlist("origin") == [f"http://{host}"]


def _limited(receive: Receive) -> Receive:
    """What is received, up to the largest size, whatever length was promised."""
    seen = 0

    async def limited() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > LARGEST_BODY:
            raise HTTPException(413, _TOO_MUCH)
        return message

    return limited
