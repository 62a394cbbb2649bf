"""The maker's queue: every order with its carvings, asked for in one question."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from service.pages.bench import bench_session
from service.pages.calling import Api
from service.pages.rendering import render

Json = Mapping[str, Any]
PAGE = 30
_QUESTION = """
query Queue($filter: OrderFilterInput, $first: Int!, $after: String) {
  orders(filter: $filter, first: $first, after: $after) {
    edges { node {
      id number state neededBy contact { name organisation }
      lines { quantity modelKey carvings { slatKey state proof { id verdict } } }
    } }
    pageInfo { hasNextPage endCursor }
  }
  orderCounts { state count }
  models { key name slats { key name } }
}
"""


async def queue(request: Request) -> Response:
    """Orders by the day they are needed, with filters and search."""
    api = Api(request)
    session = await bench_session(api)
    asked = request.query_params
    wanted = {
        "state": asked.getlist("state") or (["submitted"] if not asked else []),
        "verdict": asked.getlist("verdict"),
        "words": asked.get("words", ""),
        "order_by": asked.get("order_by", "needed-by"),
    }
    found = await api.ask(_QUESTION, filter=_filter(wanted), first=PAGE, after=asked.get("after") or None)
    page = found["orders"]["pageInfo"]
    models = {model["key"]: model for model in found["models"]}
    return render(
        request,
        "bench/queue.html",
        session=session,
        workshop=session["workshop"],
        orders=[_row(edge["node"], models) for edge in found["orders"]["edges"]],
        counts={_plain_name(count["state"]): count["count"] for count in found["orderCounts"]},
        wanted=wanted,
        more=urlencode({**wanted, "after": page["endCursor"]}, doseq=True) if page["hasNextPage"] else "",
    )


def _filter(wanted: Mapping[str, Any]) -> Json:
    return {
        "state": [_graph_name(state) for state in wanted["state"]],
        "verdict": [_graph_name(verdict) for verdict in wanted["verdict"]],
        "words": wanted["words"],
        "orderBy": _graph_name(wanted["order_by"]),
    }


def _graph_name(state: str) -> str:
    return state.upper().replace("-", "_")


def _plain_name(state: str) -> str:
    return state.lower().replace("_", "-")


def _row(order: Json, models: Mapping[str, Json]) -> Json:
    """An order with the names of its models and slats; what the workshop has no more keeps its key."""
    return {
        **order,
        "state": _plain_name(order["state"]),
        "lines": [_line(line, models.get(line["modelKey"])) for line in order["lines"]],
    }


def _line(line: Json, model: Json | None) -> Json:
    slats = {slat["key"]: slat["name"] for slat in model["slats"]} if model else {}
    return {
        "quantity": line["quantity"],
        "model": model["name"] if model else line["modelKey"],
        "carvings": [
            {
                "slat": slats.get(carving["slatKey"], carving["slatKey"]),
                "state": _plain_name(carving["state"]),
                "proof": carving["proof"]
                and {**carving["proof"], "verdict": _plain_name(carving["proof"]["verdict"])},
            }
            for carving in line["carvings"]
        ],
    }


ROUTES = (("/bench", "GET", queue),)
