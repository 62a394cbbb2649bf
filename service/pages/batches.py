"""Batches: released orders to take out, one or many at once, and the archives there are."""

from __future__ import annotations

import secrets
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render

PAGE = 30
_QUESTION = """
query Batches($first: Int!, $after: String) {
  batches(first: $first, after: $after) {
    edges { node { id state message createdAt archive archiveUrl size orders { id number } } }
    pageInfo { hasNextPage endCursor }
  }
  orders(filter: {state: [RELEASED], orderBy: NEEDED_BY}, first: 100) {
    edges { node { id number neededBy contact { name organisation } } }
  }
}
"""


async def batches(request: Request) -> Response:
    """Released orders that can be taken out, and the batches there are."""
    return await _show(request)


async def _show(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    found: Any = await api.ask(_QUESTION, first=PAGE, after=request.query_params.get("after") or None)
    page = found["batches"]
    made = [edge["node"] for edge in page["edges"]]
    return render(
        request,
        "bench/batches.html",
        status,
        session=session,
        workshop=session["workshop"],
        batches=made,
        more=page["pageInfo"]["endCursor"] if page["pageInfo"]["hasNextPage"] else "",
        released=[edge["node"] for edge in found["orders"]["edges"]],
        waiting=any(batch["state"] == "WAITING" for batch in made),
        once=secrets.token_urlsafe(16),
        trouble=trouble,
    )


async def take_batch(request: Request) -> Response:
    """Ask for the archive of one or many released orders."""
    sent = await read_form(request)
    body = {"order_ids": sent.texts("orders")}
    if not body["order_ids"]:
        return await _show(request, 422, _("Tick at least one order."))
    if sent.flag("joint"):
        wanted = urlencode([("orders", each) for each in body["order_ids"]])
        return go(f"/api/v1/joint-boards.zip?{wanted}")
    try:
        reply = await Api(request).send("POST", "/batches", body, once=sent.text("once") or None)
    except CallError as refused:
        if refused.status not in {403, 409, 422, 429}:
            raise
        return await _show(request, refused.status, refused.words)
    return go(f"/bench/batches#batch-{reply.json['id']}")


ROUTES = (("/bench/batches", "GET", batches), ("/bench/batches", "POST", take_batch))
