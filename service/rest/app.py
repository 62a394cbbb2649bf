"""The REST door as routes."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from service.rest import problems
from service.rest.events import order_events, workshop_events
from service.rest.openapi import document
from service.rest.operation import Pipeline
from service.rest.pipeline import Endpoint, endpoint
from service.rest.reference.changes import changes_page
from service.rest.reference.drawing import contract, page, script, style
from service.rest.reference.problem_pages import problem_list, problem_page
from service.rest.reference.rest_page import rest_page
from service.rest.resumable import Resumable
from service.rest.route_tree import RouteTree
from service.rest.table import OPERATIONS

API = "/api/v1"


def rest_routes(pipeline: Pipeline, *, to_try: bool = False) -> list[BaseRoute]:
    """Everything below ``/api/v1``, and the reference; where asked for, a page to try GraphQL in."""
    by_path: dict[str, dict[str, Endpoint]] = {}
    for operation in OPERATIONS:
        answers = endpoint(operation, pipeline)
        by_path.setdefault(operation.path, {})[operation.method] = answers
    by_path["/orders/{order}/events"] = {"GET": order_events(pipeline)}
    by_path["/events/stream"] = {"GET": workshop_events(pipeline)}
    by_path["/openapi.json"] = {"GET": _openapi}
    resumable = Resumable(pipeline)
    by_path["/orders/{order}/uploads"] = resumable.collection()
    by_path["/uploads/{upload}"] = resumable.one()
    endpoints = {path: _by_method(answers) for path, answers in by_path.items()}
    return [
        RouteTree(API, endpoints, _nothing_here),
        Route("/problems", problem_list, methods=["GET"]),
        Route("/problems/{code}", problem_page, methods=["GET"]),
        Route("/reference", _reference, methods=["GET"]),
        Route("/reference/rest", rest_page, methods=["GET"]),
        Route("/reference/changes", changes_page, methods=["GET"]),
        Route("/reference/style.{mark}.css", style, methods=["GET"]),
        *(_TO_TRY if to_try else ()),
    ]


def _by_method(answers: Mapping[str, Endpoint]) -> Endpoint:
    allowed = ", ".join(sorted({*answers, *(["HEAD"] if "GET" in answers else [])}))

    async def respond(request: Request) -> Response:
        answer = answers.get(request.method) or answers.get("GET" if request.method == "HEAD" else "")
        if answer is None:
            return problems.answer(problems.KINDS["method-not-allowed"], headers={"Allow": allowed})
        return await answer(request)

    return respond


async def _nothing_here(_request: Request) -> Response:
    return problems.answer(problems.KINDS["not-found"], "There is no such address; see /api/v1/openapi.json.")


async def _try(_request: Request) -> Response:
    return page("try.html")


_TO_TRY = (
    Route("/reference/try", _try, methods=["GET"]),
    Route("/reference/try.{mark}.js", script, methods=["GET"]),
)


async def _reference(_request: Request) -> Response:
    return page("index.html")


async def _openapi(request: Request) -> Response:
    return contract(request, _contract(), "application/json")


@cache
def _contract() -> bytes:
    return bytes(JSONResponse(document()).body)
