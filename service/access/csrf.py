"""Against requests that another site makes a browser send: origin checks for all, a form token for pages'
forms.

Cookies are ``SameSite=Lax`` already. On top of that every request that may change something must come from
this site by ``Sec-Fetch-Site`` or ``Origin``, and a form posted to a page must carry the token of its own
session.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import secrets
from datetime import timedelta
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.access.resolve import COOKIE_CLIENT, COOKIE_SESSION, COOKIE_VISIT

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})
HOST_ONLY = "__Host-"
OUR_COOKIES = frozenset({COOKIE_SESSION, COOKIE_CLIENT, COOKIE_VISIT})
_PAD = 32
_VISIT = timedelta(days=365)


def form_token(secret: str) -> str:
    """A token for the forms of whoever holds ``secret`` (a session's or visit's cookie).

    It is different each time (masked with a random pad), so that compressed pages do not give it away byte
    by byte.
    """
    mark = hmac.digest(secret.encode(), b"form", hashlib.sha256)
    pad = secrets.token_bytes(_PAD)
    masked = bytes(a ^ b for a, b in zip(mark, pad, strict=True))
    return base64.urlsafe_b64encode(pad + masked).decode()


def is_form_token(token: str, secret: str) -> bool:
    """Whether ``token`` was made for ``secret``."""
    try:
        raw = base64.b64decode(token.encode("utf-8", "surrogatepass"), altchars=b"-_", validate=True)
    except ValueError:
        return False
    if len(raw) != 2 * _PAD:
        return False
    mark = bytes(a ^ b for a, b in zip(raw[:_PAD], raw[_PAD:], strict=True))
    return hmac.compare_digest(mark, hmac.digest(secret.encode(), b"form", hashlib.sha256))


def comes_from_here(headers: Headers, own_hosts: frozenset[str]) -> bool | None:
    """Whether the browser says that the request comes from this site; ``None`` when nothing says anything.

    ``Sec-Fetch-Site`` cannot be set by a page's script. ``none`` is the person's own doing (address bar,
    bookmark).
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    origin = headers.get("origin")
    if origin is not None:
        return urlsplit(origin).netloc in own_hosts | {headers.get("host", "")}
    return None


class Guard:
    """ASGI middleware that refuses foreign requests and hands pages their form token.

    In ``scope["state"]`` it leaves ``form_token``, a function for the pages' templates,
    ``form_token_good``, one that says whether a posted token belongs to this browser, and ``secure``:
    whether cookies are for TLS only. A browser without any cookie gets the
    visit cookie.
    """

    def __init__(
        self, app: ASGIApp, own_hosts: frozenset[str] = frozenset(), *, secure: bool = False
    ) -> None:
        """Wrap ``app``.

        Args:
            app: what is guarded.
            own_hosts: names it is reached by besides the ``Host`` a request carries.
            secure: whether it is reached by TLS, so that cookies may say so.
        """
        self._app = app
        self._own_hosts = own_hosts
        self._secure = secure

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or go on with the form token at hand."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        secure = self._secure or scope["scheme"] in {"https", "wss"}
        scope = _own_cookies(scope) if secure else scope
        headers = Headers(scope=scope)
        cookies = cookies_of(headers)
        changes = scope["type"] == "websocket" or scope["method"] not in SAFE_METHODS
        if changes and not self._let_in(headers, cookies):
            await _refuse(scope, receive, send)
            return
        visit = cookies.get(COOKIE_VISIT, "")
        fresh = "" if visit else secrets.token_urlsafe(_PAD)
        holder = cookies.get(COOKIE_SESSION) or visit or fresh
        state = scope.setdefault("state", {})
        state["secure"] = secure
        state["form_token"] = lambda: form_token(holder)
        state["form_token_good"] = lambda token: not fresh and is_form_token(token, holder)
        await self._app(scope, receive, _with_visit(send, fresh, secure) if fresh else send)

    def _let_in(self, headers: Headers, cookies: dict[str, str]) -> bool:
        here = comes_from_here(headers, self._own_hosts)
        if here is not None:
            return here or "authorization" in headers
        # No browser of the last years sends neither header; a program does, and has no cookie of ours.
        return COOKIE_SESSION not in cookies and COOKIE_CLIENT not in cookies


def _own_cookies(scope: Scope) -> Scope:
    """The request with those cookies only that this very host has set, under their plain names."""
    headers = []
    for name, value in scope["headers"]:
        if name == b"cookie":
            parts = (part.strip() for part in value.decode("latin-1").split(";"))
            own = (part.removeprefix(HOST_ONLY) for part in parts if part.startswith(HOST_ONLY))
            headers.append((name, "; ".join(own).encode("latin-1")))
        else:
            headers.append((name, value))
    return {**scope, "headers": headers}


def _with_visit(send: Send, visit: str, secure: bool) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            if headers.get("content-type", "").startswith("text/html"):
                headers.append("set-cookie", cookie(COOKIE_VISIT, visit, _VISIT, secure=secure))
        await send(message)

    return sending


def cookie(name: str, value: str, life: timedelta, *, secure: bool) -> str:
    """A ``Set-Cookie`` header no script can read and no other site can use to change anything.

    By TLS its name begins with ``__Host-``: browsers then take it from this very host alone.
    """
    flags, name = ("; Secure", HOST_ONLY + name) if secure else ("", name)
    seconds = int(life.total_seconds())
    return f"{name}={value}; Path=/; HttpOnly; SameSite=Lax; Max-Age={seconds}{flags}"


def cookies_of(headers: Headers) -> dict[str, str]:
    """Our cookies of a request; others are left alone."""
    found: dict[str, str] = {}
    for header in headers.getlist("cookie"):
        for part in header.split(";"):
            name, sign, value = part.strip().partition("=")
            if sign and name in OUR_COOKIES:
                found[name] = value.strip('"')
    return found


async def _refuse(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 4403})
        return
    body = json.dumps(
        {
            "type": "/problems/other-site",
            "title": "The request came from another site",
            "status": 403,
            "detail": "Open the page here again and send it from there. Programs: use a token, not a cookie.",
        }
    ).encode()
    await send(
        {
            "type": "http.response.start",
            "status": 403,
            "headers": [
                (b"content-type", b"application/problem+json"),
                (b"content-length", str(len(body)).encode()),
                (b"cache-control", b"no-store"),
            ],
        }
    )
    await send({"type": "http.response.body", "body": body})
