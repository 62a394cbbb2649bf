"""Boards as the workshop keeps them: kinds, what is on the rack, offcuts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render

_EMPTY = {"wood": "", "thickness": "", "width": "", "length": "", "on_hand": "", "offcuts": "", "price": ""}
SPARE_ROWS = 2
"""Empty rows below the boards there are."""


async def boards_page(request: Request) -> Response:
    """The kinds of boards, and rows for more."""
    return await _show(request)


async def _show(
    request: Request, status: int = 200, trouble: str = "", rows: list[dict[str, Any]] | None = None
) -> Response:
    api = Api(request)
    session = await bench_session(api)
    found = await api.get("/settings/machine")
    kept = [_row(kind) for kind in found["machine"]["stock"]] if rows is None else rows
    return render(
        request,
        "settings/boards.html",
        status,
        session=session,
        workshop=session["workshop"],
        revision=found["revision"],
        rows=[*kept, *([dict(_EMPTY)] * SPARE_ROWS)],
        machine=found["machine"],
        trouble=trouble,
        said=_("Saved. What was released before keeps its own.") if "saved" in request.query_params else "",
    )


def _row(kind: Mapping[str, Any]) -> dict[str, Any]:
    """A kind as it is typed."""
    typed = {name: "" if kind[name] is None else kind[name] for name in _EMPTY}
    return typed | {"offcuts": ", ".join(f"{length:g}" for length in kind["offcuts"])}


async def save(request: Request) -> Response:
    """Keep the boards; a row without sizes is no board."""
    sent = await read_form(request)
    api = Api(request)
    kept = (await api.get("/settings/machine"))["machine"]
    rows = _typed(sent)
    try:
        stock = [_kind(row) for row in rows]
    except ValueError:
        words = _(
            "Give sizes, offcuts and numbers in figures; several offcuts with a comma and a space between them."
        )
        return await _show(request, 422, words, rows)
    try:
        body = {**kept, "stock": stock}
        await api.send("PUT", "/settings/machine", body, revision=sent.whole("revision") or 0)
    except CallError as refused:
        if refused.status not in {403, 412, 422}:
            raise
        words = " ".join(f"{at}: {words}" for at, words in refused.fields.items())
        return await _show(request, refused.status, words or refused.words, rows)
    return go("/bench/settings/boards?saved")


def _typed(sent: Sent) -> list[dict[str, Any]]:
    columns = [sent.texts(name) for name in _EMPTY]
    rows = [dict(zip(_EMPTY, values, strict=True)) for values in zip(*columns, strict=False)]
    return [row for row in rows if any(row[name].strip() for name in ("thickness", "width", "length"))]


def _kind(row: Mapping[str, str]) -> dict[str, Any]:
    """A row as the API takes it. ValueError for what is no figure."""
    return {
        "wood": row["wood"].strip(),
        **{name: _number(row[name]) for name in ("thickness", "width", "length")},
        "on_hand": int(row["on_hand"]) if row["on_hand"].strip() else None,
        "offcuts": [_number(each) for each in row["offcuts"].replace(";", ", ").split(", ") if each.strip()],
        "price": int(row["price"]) if row["price"].strip() else 0,
    }


def _number(text: str) -> float:
    return float(text.strip().replace(",", "."))


ROUTES = (
    ("/bench/settings/boards", "GET", boards_page),
    ("/bench/settings/boards", "POST", save),
)
