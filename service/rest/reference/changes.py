"""What changed, version by version, for whoever keeps a program that calls the API."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from markdown_it import MarkdownIt
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from service.rest.files import unless_had
from service.rest.reference.drawing import page

CHANGELOG = Path(__file__).parents[3] / "CHANGELOG.md"


async def changes_page(request: Request) -> Response:
    """The changelog as a page, sent again only where it has changed."""
    return unless_had(request, _page(), "text/html", "public, max-age=300")


@cache
def _page() -> bytes:
    """Its links point into the code's own folders, so they are shown as words."""
    drawn = MarkdownIt("commonmark", {"html": False}).disable("link")
    text = drawn.render(CHANGELOG.read_text(encoding="utf-8"))
    return bytes(page("changes.html", changes=Markup(text)).body)  # noqa: S704 - HTML in it is shown, not taken
