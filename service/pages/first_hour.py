"""A new workshop's first hour: five steps from nothing to the first released order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_
from service.pages.bench import bench_session
from service.pages.calling import Api
from service.pages.drawing import piece_view
from service.pages.new_models import ROW, starters_of
from service.pages.rendering import render
from service.pages.shop_settings import BIT, HOLDING, held

Json = Mapping[str, Any]
HERE = "/bench/first"
STEPS = (
    L_("Furniture"),
    L_("The bit"),
    L_("What the wood loses"),
    L_("What clients read"),
    L_("A test order"),
)
_QUESTION = """{ orders(first: 5, filter: {orderBy: NEWEST}) { edges { node { id number state } } } }"""
_MADE = frozenset({"RELEASED", "IN_PRODUCTION", "DONE"})


async def first_hour(request: Request) -> Response:
    """What is set already, what comes next, and the forms for it."""
    api = Api(request)
    session = await bench_session(api)
    settings = await api.get("/settings")
    prices = await api.get("/settings/prices")
    starters = await starters_of(api)
    orders = [edge["node"] for edge in (await api.ask(_QUESTION))["orders"]["edges"]]
    workshop = settings["workshop"]
    models = [model for model in settings["models"] if not model["retired"]]
    bit = next(bit for bit in settings["bits"] if bit["key"] == workshop["usual_bit"])
    done = [
        bool(models),
        bit["revision"] > 1 or len(settings["bits"]) > 1,
        workshop["revision"] > 1,
        bool(prices["version"] or orders),
        any(order["state"] in _MADE for order in orders),
    ]
    return render(
        request,
        "settings/first.html",
        session=session,
        workshop=session["workshop"],
        settings=workshop,
        models=[(model, piece_view(model)) for model in models],
        bit=bit,
        prices=prices,
        orders=orders,
        starters=starters,
        row=ROW,
        values={},
        bit_fields=BIT,
        holding=HOLDING,
        held=held(workshop["allowances"]["unevenness"]),
        done=done,
        steps=_steps(done),
        to=HERE,
    )


def _steps(done: Sequence[bool]) -> list[Json]:
    """As the strip of what is done shows them; the first that is not done is the one in hand."""
    now = next((number for number, is_done in enumerate(done) if not is_done), len(done))
    return [
        {"name": name, "done": is_done, "now": number == now}
        for number, (name, is_done) in enumerate(zip(STEPS, done, strict=True))
    ]


ROUTES = ((HERE, "GET", first_hour),)
