"""From facts and a template to a page of the reference."""

from __future__ import annotations

import hashlib
import re
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markdown_it import MarkdownIt
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from service.rest.files import unless_had

_HERE = Path(__file__).parent
_markdown = MarkdownIt("commonmark", {"html": False})


def page(template: str, **facts: Any) -> Response:
    """A page of the reference; the same for everybody, so that anyone may keep it."""
    text = _environment().get_template(template).render(**facts)
    return HTMLResponse(text, headers={"Cache-Control": "public, max-age=300"})


async def style(_request: Request) -> Response:
    """The style sheet of the reference."""
    return _kept(_file("reference.css"), "text/css")


async def script(_request: Request) -> Response:
    """The script of the page to try GraphQL in; no other page of the reference has one."""
    return _kept(_file("try.js"), "text/javascript")


def contract(request: Request, data: bytes, kind: str) -> Response:
    """A contract as a document, sent again only where it has changed."""
    return unless_had(request, data, kind, "no-cache")


def _kept(data: bytes, kind: str) -> Response:
    return Response(data, headers={"Cache-Control": "public, max-age=31536000, immutable"}, media_type=kind)


def anchor(words: str) -> str:
    """The name of a place within a page."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def _paragraphs(text: str) -> Markup:
    return Markup(_markdown.render(text))  # noqa: S704 - HTML in it is shown, not taken


def _inline(text: str) -> Markup:
    return Markup(_markdown.renderInline(text))  # noqa: S704 - as above


@cache
def _file(name: str) -> bytes:
    return (_HERE / "templates" / name).read_bytes()


def _mark(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:16]


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {"paragraphs": _paragraphs, "inline": _inline, "anchor": anchor}
    made.globals["style_url"] = f"/reference/style.{_mark(_file('reference.css'))}.css"
    made.globals["script_url"] = f"/reference/try.{_mark(_file('try.js'))}.js"
    return made
