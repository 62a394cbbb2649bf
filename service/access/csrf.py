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
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from urllib.parse import urlsplit

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.access.resolve import COOKIE_CLIENT, COOKIE_SESSION, COOKIE_VISIT

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})
HOST_ONLY = "__Host-"
WATCHED = frozenset({"/health/live", "/health/ready", "/metrics"})
OUR_COOKIES = frozenset({COOKIE_SESSION, COOKIE_CLIENT, COOKIE_VISIT})
_LOOKED_AT = frozenset(
    {b"host", b"cookie", b"origin", b"authorization", b"sec-fetch-site", b"sec-fetch-dest"}
)
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


def comes_from_here(headers: Mapping[str, str], own_hosts: frozenset[str]) -> bool | None:
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


class CsrfGuard:
    """ASGI middleware that refuses foreign requests and hands pages their form token.

    In ``scope["state"]`` it leaves ``form_token``, a function for the pages' templates,
    ``form_token_good``, one that says whether a posted token belongs to this browser, and ``secure``:
    whether cookies are for TLS only. A browser without any cookie gets the
    visit cookie.
    """

    def __init__(
        self,
        app: ASGIApp,
        own_hosts: frozenset[str] = frozenset(),
        *,
        secure: bool = False,
        hosts: frozenset[str] = frozenset(),
    ) -> None:
        """Wrap ``app``.

        Args:
            app: what is guarded.
            own_hosts: names it is reached by besides the ``Host`` a request carries.
            secure: whether it is reached by TLS, so that cookies may say so.
            hosts: names, without ports, that a request may say it is for; none: any.
        """
        self._app = app
        self._own_hosts = own_hosts
        self._secure = secure
        self._hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or go on with the form token at hand."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        secure = self._secure or scope["scheme"] in {"https", "wss"}
        scope = _own_cookies(scope) if secure else scope
        headers = told(scope, _LOOKED_AT)
        if not self._is_for_us(scope, headers):
            await _refuse(scope, receive, send, _OTHER_NAME)
            return
        cookies = cookies_in(headers.get("cookie", ""))
        changes = scope["type"] == "websocket" or scope["method"] not in SAFE_METHODS
        if changes and not self._let_in(headers, cookies):
            await _refuse(scope, receive, send, _OTHER_SITE)
            return
        visit = cookies.get(COOKIE_VISIT, "")
        fresh = "" if visit else secrets.token_urlsafe(_PAD)
        holder = cookies.get(COOKIE_SESSION) or visit or fresh
        state = scope.setdefault("state", {})
        state["secure"] = secure
        state["form_token"] = lambda: form_token(holder)
        state["form_token_good"] = lambda token: not fresh and is_form_token(token, holder)
        send = _within_a_frame(send) if headers.get("sec-fetch-dest") == "iframe" else send
        await self._app(scope, receive, _with_visit(send, fresh, secure) if fresh else send)

    def _let_in(self, headers: Mapping[str, str], cookies: dict[str, str]) -> bool:
        has_cookie = COOKIE_SESSION in cookies or COOKIE_CLIENT in cookies
        here = comes_from_here(headers, self._own_hosts)
        if here is not None:
            # a program names itself by a header; where cookies would count as well, that proves nothing
            return here or ("authorization" in headers and not has_cookie)
        # No browser of the last years sends neither header; a program does, and has no cookie of ours.
        return not has_cookie

    def _is_for_us(self, scope: Scope, headers: Mapping[str, str]) -> bool:
        """Whether the request says it is for a name of this service; who watches it may ask by any."""
        if not self._hosts or scope["path"] in WATCHED:
            return True
        try:
            name = urlsplit(f"//{headers.get('host', '')}").hostname or ""
        except ValueError:
            return False
        return name.lower().rstrip(".") in self._hosts


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
            shared = "public" in headers.get(
                "cache-control", ""
            )  # what is kept for all holds nobody's cookie
            if headers.get("content-type", "").startswith("text/html") and not shared:
                headers.append("set-cookie", cookie(COOKIE_VISIT, visit, _VISIT, secure=secure))
        await send(message)

    return sending


def _within_a_frame(send: Send) -> Send:
    """Cookies for a frame of another site: kept for that site's pages alone, and taken by TLS only (CHIPS).

    Which site may show a frame is said by its page; what comes from another site is refused as ever.
    """

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [
                (name, _parted(value) if name == b"set-cookie" else value)
                for name, value in message["headers"]
            ]
        await send(message)

    return sending


def _parted(cookie: bytes) -> bytes:
    plain = cookie.replace(b"; Secure", b"")
    return plain.replace(b"; SameSite=Lax", b"; SameSite=None; Secure; Partitioned")


def cookie(name: str, value: str, life: timedelta, *, secure: bool) -> str:
    """A ``Set-Cookie`` header no script can read and no other site can use to change anything.

    By TLS its name begins with ``__Host-``: browsers then take it from this very host alone.
    """
    flags, name = ("; Secure", HOST_ONLY + name) if secure else ("", name)
    seconds = int(life.total_seconds())
    return f"{name}={value}; Path=/; HttpOnly; SameSite=Lax; Max-Age={seconds}{flags}"


def told(scope: Scope, names: frozenset[bytes]) -> dict[str, str]:
    """Some headers of a request, looked for once; several of one name are one, as HTTP has it of cookies too."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        if name in names:
            key, text = name.decode("latin-1"), value.decode("latin-1")
            between = "; " if name == b"cookie" else ", "
            found[key] = f"{found[key]}{between}{text}" if key in found else text
    return found


def cookies_of(scope: Scope) -> dict[str, str]:
    """Our cookies of a request; others are left alone."""
    return cookies_in(told(scope, frozenset({b"cookie"})).get("cookie", ""))


def cookies_in(header: str) -> dict[str, str]:
    """Our cookies in a header ``Cookie``; others are left alone."""
    found: dict[str, str] = {}
    for part in header.split(";"):
        name, sign, value = part.strip().partition("=")
        if sign and name in OUR_COOKIES:
            found[name] = value.strip('"')
    return found


@dataclass(frozen=True)
class _Refusal:
    kind: str
    title: str
    status: int
    detail: str


_OTHER_SITE = _Refusal(
    "other-site",
    "The request came from another site",
    403,
    "Open the page here again and send it from there. Programs: use a token, not a cookie.",
)
_OTHER_NAME = _Refusal(
    "other-name",
    "The request is for another name",
    421,
    "This service is not reached by that name. Use the address it was given (SLATPROOF_PUBLIC_URL).",
)


async def _refuse(scope: Scope, receive: Receive, send: Send, refusal: _Refusal) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 4403})
        return
    body = json.dumps(
        {
            "type": f"/problems/{refusal.kind}",
            "title": refusal.title,
            "status": refusal.status,
            "detail": refusal.detail,
        }
    ).encode()
    await send(
        {
            "type": "http.response.start",
            "status": refusal.status,
            "headers": [
                (b"content-type", b"application/problem+json"),
                (b"content-length", str(len(body)).encode()),
                (b"cache-control", b"no-store"),
            ],
        }
    )
    await send({"type": "http.response.body", "body": body})
