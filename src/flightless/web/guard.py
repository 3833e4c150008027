"""What stands before every page: who may ask, how much may be sent, what a browser may do.

The server listens on this machine alone; `Guard` also refuses other names for it (DNS
rebinding), requests that another site's page sends, forms without their token, and bodies
that are too large.  It knows nothing of what the pages show.
"""

from __future__ import annotations

import hmac
import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import urlsplit

from starlette.datastructures import FormData, Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["COOKIE", "FIELD", "Guard", "TooLargeError", "token_of", "token_right"]

COOKIE = "flightless-token"
FIELD = "token"
_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})

_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "frame-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'self'",
        "base-uri 'none'",
    )
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class TooLargeError(Exception):
    """More was sent than this server takes; `most` is the limit in bytes."""

    def __init__(self, most: int) -> None:
        super().__init__(most)
        self.most = most


def token_of(request: Request) -> str:
    """The token that a form of this browser must carry."""
    return str(request.scope["flightless.token"])


def token_right(request: Request, given: str) -> bool:
    """Whether `given` is the token that this browser holds.

    A page of another site can send a form here but can read neither cookie nor page.
    """
    kept = str(request.scope.get("flightless.kept", ""))
    return bool(kept) and hmac.compare_digest(kept.encode(), given.encode("utf-8", "replace"))


def _host_name(host: str) -> str:
    """The name in a Host header, without its port."""
    if host.startswith("["):
        return host.split("]")[0] + "]"
    return host.rsplit(":", 1)[0] if ":" in host else host


class Guard:
    """ASGI middleware; `most` is the largest body in bytes."""

    def __init__(self, app: ASGIApp, most: int) -> None:
        self.app = app
        self.most = most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await refusal(scope, receive, _dressed(send, None))
            return
        kept = _cookie(headers)
        scope["flightless.kept"] = kept
        scope["flightless.token"] = kept or secrets.token_urlsafe(24)
        fresh = None if kept else scope["flightless.token"]
        forms: list[FormData] = []
        scope["flightless.forms"] = forms
        try:
            await self.app(scope, self._measured(receive), _dressed(send, fresh))
        finally:
            for form in forms:
                await form.close()

    def _refusal(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        host = headers.get("host", "")
        if _host_name(host).lower() not in _NAMES:
            return PlainTextResponse(
                "This desk answers to 127.0.0.1 and localhost only. Open it by that address.", 421
            )
        if scope["method"] in _SAFE:
            return None
        origin = headers.get("origin")
        if origin is not None and urlsplit(origin).netloc != host:
            return PlainTextResponse(
                "This came from a page of another site and was not done. "
                "Use the pages of this desk.",
                403,
            )
        if origin is None and headers.get("sec-fetch-site", "same-origin") not in (
            "same-origin",
            "none",
        ):
            return PlainTextResponse("This came from another site and was not done.", 403)
        length = headers.get("content-length", "0")
        if length.isdigit() and int(length) > self.most:
            return PlainTextResponse(
                f"The file is larger than {self.most // 1_000_000} MB, the most this page takes. "
                "Use 'flightless harvest' on the command line for larger ones.",
                413,
            )
        return None

    def _measured(self, receive: Receive) -> Receive:
        taken = 0

        async def measured() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > self.most:
                raise TooLargeError(self.most)
            return message

        return measured


def _cookie(headers: Headers) -> str:
    jar: SimpleCookie = SimpleCookie()
    try:
        jar.load(headers.get("cookie", ""))
    except CookieError:
        return ""
    return jar[COOKIE].value if COOKIE in jar else ""


def _dressed(send: Send, fresh: str | None) -> Send:
    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            if fresh is not None:
                headers.append("Set-Cookie", f"{COOKIE}={fresh}; Path=/; HttpOnly; SameSite=Strict")
        await send(message)

    return dressed
