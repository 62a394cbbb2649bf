"""From a template and facts to an answer with the headers every page has."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.language.chosen import LANGUAGES, language
from service.language.loading import WordedLoader
from service.language.phrasebook import told
from service.pages import lengths, words
from service.pages.assets import asset_url, modules_of
from service.pages.carving_view import carving_view
from service.pages.drawing import families
from service.pages.findings import FEW
from service.pages.framing import is_framed
from service.pages.grouping import in_groups
from service.pages.price_words import figure_words
from service.pages.script_words import script_words
from service.pages.section_view import section_view
from service.pages.sending import longest, told_of

_HERE = Path(__file__).parent


class _Faults(dict[str, str]):
    """What is wrong by field; nothing is wrong with those that are not named."""

    def __missing__(self, key: str) -> str:
        return ""


def render(
    request: Request,
    template: str,
    status: int = 200,
    cookies: Sequence[str] = (),
    **facts: Any,
) -> HTMLResponse:
    """A page. It may run our own scripts only, is framed by nobody, and is kept by no shared cache."""
    nonce = secrets.token_urlsafe(16)
    shared: Mapping[str, Any] = {
        "request": request,
        "here": request.url.path,
        "nonce": nonce,
        "framed": is_framed(request),
        "form_token": getattr(request.state, "form_token", lambda: ""),
    }
    facts["faults"] = _Faults(facts.get("faults", {}))
    lengths.INCHES.set(_in_inches(request, facts))
    text = _environment(language()).get_template(template).render({**shared, **facts})
    answer = HTMLResponse(text, status, headers=_headers(nonce))
    for header in cookies:
        answer.headers.append("set-cookie", header)
    return answer


def told_to_site(order: Mapping[str, Any]) -> Markup:
    """What a page in a frame of a site tells that site (``framed.js``): which order, and whether it is signed."""
    states = {carving["state"] for line in order["lines"] for carving in line["carvings"]}
    signed = "yes" if states and states <= {"signed", "approved", "released"} else ""
    return Markup(' data-order="{}" data-number="{}" data-signed="{}"').format(
        order["id"], order["number"], signed
    )


def _in_inches(request: Request, facts: Mapping[str, Any]) -> bool:
    """Whether lengths are inches: as the reader chose, else as the workshop measures."""
    chosen = request.cookies.get("units")
    if chosen is not None:
        return bool(chosen == "inches")
    workshop = facts.get("workshop")
    return isinstance(workshop, Mapping) and workshop.get("units") == "inch"


def go(path: str, cookies: Sequence[str] = ()) -> Response:
    """Send the browser on to another of our pages, with GET."""
    answer = RedirectResponse(local(path), 303, headers={"Cache-Control": "no-store"})
    for header in cookies:
        answer.headers.append("set-cookie", header)
    return answer


def local(path: str, otherwise: str = "/") -> str:
    """``path`` if it stays on this site, else ``otherwise``: no page sends anybody elsewhere."""
    plain = path.replace("\\", "/")
    if not plain.startswith("/") or plain.startswith("//") or any(ord(sign) < 32 for sign in plain):
        return otherwise
    return plain


def _headers(nonce: str) -> dict[str, str]:
    policy = (
        "default-src 'none'; object-src 'none'; script-src 'self'; connect-src 'self' blob:; font-src 'self'; "
        "img-src 'self' blob: data:; "
        f"style-src 'self' 'nonce-{nonce}'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'; "
        "manifest-src 'self'"
    )
    return {
        "Content-Security-Policy": policy,
        "Cache-Control": "private, no-cache",
        "Content-Language": language(),
        "Vary": "Accept-Language, Cookie",
        "Referrer-Policy": "same-origin",
        "X-Content-Type-Options": "nosniff",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
    }


@cache
def _environment(spoken: str) -> Environment:
    environment = Environment(
        loader=WordedLoader(_HERE / "templates", spoken),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {"asset": asset_url, "modules_of": modules_of}
    environment.globals |= {"longest": longest(), "told_of": told_of}
    environment.globals |= {
        "carving_view": carving_view,
        "few_places": FEW,
        "told_to_site": told_to_site,
        "in_groups": lambda marked: in_groups(marked, lengths.length_found),
        "inches": lengths.INCHES.get,
        "language": spoken,
        "script_words": script_words(spoken),
        "languages": LANGUAGES,
        "section_view": section_view,
    }
    environment.filters |= {name: getattr(room, name) for room in (words, lengths) for name in room.FILTERS}
    environment.filters |= {"told": told, "figure_words": figure_words, "families": families}
    return environment
