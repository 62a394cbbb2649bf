"""What each type of problem means, at its own address, and all of them on one page."""

from __future__ import annotations

from functools import cache

from starlette.requests import Request
from starlette.responses import Response

from service.rest import problems
from service.rest.openapi import document
from service.rest.openapi_parts import answers_of, named_problems
from service.rest.reference.drawing import page


async def problem_page(request: Request) -> Response:
    """The page of one type."""
    kind = problems.KINDS.get(request.path_params["code"])
    return problems.answer(problems.KINDS["not-found"]) if kind is None else _drawn(kind)


async def problem_list(_request: Request) -> Response:
    """All of them."""
    return _listed()


@cache
def _listed() -> Response:
    return page("problems.html", problems=sorted(problems.KINDS.values(), key=lambda each: each.status))


@cache
def _drawn(kind: problems.Kind) -> Response:
    made = document()
    where = [
        operation["operationId"]
        for methods in made["paths"].values()
        for operation in methods.values()
        if any(kind.code in named_problems(answer) for answer in answers_of(made, operation).values())
    ]
    return page("problem.html", kind=kind, where=where, base=problems.BASE)
