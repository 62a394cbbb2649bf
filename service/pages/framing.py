"""Pages for clients within a frame of a site that the workshop named by a token's origins, and of no other.

A browser says that a page is for a frame (``Sec-Fetch-Dest``, W3C Fetch Metadata); such a page names its allowed
ancestors (CSP 3 §6.4.2). All other pages are framed by nobody.
"""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.pages.calling import Api, CallError

NOBODY = "frame-ancestors 'none'"
_FRAMED = ("/at/", "/order/")


def is_framed(request: Request) -> bool:
    """Whether a browser asks for one of the client's pages in order to show it within another."""
    return request.headers.get("sec-fetch-dest") == "iframe" and request.url.path.startswith(_FRAMED)


async def allow_ancestors(request: Request, answer: Response) -> None:
    """Let the sites that the workshop named show this page."""
    policy = answer.headers.get("content-security-policy", "")
    if NOBODY not in policy:
        return
    try:
        origins = (await Api(request).get(f"/workshops/{await _workshop(request)}/framing-sites"))["items"]
    except CallError:
        return  # who has no workshop before them is shown nothing to frame
    if origins:
        request.state.framed = True
        answer.headers["Content-Security-Policy"] = policy.replace(
            NOBODY, " ".join(("frame-ancestors", *origins))
        )


async def _workshop(request: Request) -> str:
    key = request.path_params.get("workshop")
    if key is None:
        session = await Api(request, request.path_params["order"]).get("/session")
        key = session["workshop"]["key"]
    return quote(key, safe="")
