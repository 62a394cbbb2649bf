"""The program check: a file sent from the bench, the outcome with its picture, and the checks there were."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render
from service.rest.operation import Received

Json = Mapping[str, Any]
ADDRESS = re.compile(r"/bench/orders/[^/]+/program")
LARGEST = 50_000_000 + 64 * 1024
"""Of a form with a program, bytes."""
OUTCOMES = {
    "cuts-what-was-signed": L_("Cuts what was signed"),
    "differs": L_("Differs from what was signed"),
    "is-not-this-carving": L_("Is not this carving"),
}
KINDS = {
    "missing": L_("wood stays that should go"),
    "extra": L_("wood goes that should stay"),
    "shallow": L_("too shallow"),
    "deep": L_("too deep"),
}
_SAID_NO = frozenset({403, 404, 409, 413, 415, 422, 429})


async def program(request: Request) -> Response:
    """Send a program for an order's carvings; the checks there were."""
    return await _show(request)


async def _show(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    order_id = request.path_params["order"]
    order = await api.get(f"/orders/{order_id}")
    settings = await api.get("/settings")
    slats = {(m["key"], s["key"]): s["name"] for m in settings["models"] for s in m["slats"]}
    carvings = [
        {
            "id": c["id"],
            "name": slats.get((line["model_key"], c["slat_key"]), c["slat_key"]),
            "piece": c["piece"],
        }
        for line in order["lines"]
        for c in line["carvings"]
        if c["proof"] and c["proof"]["signed_at"]
    ]
    checks = (await api.get(f"/orders/{order_id}/program-checks"))["items"]
    return render(
        request,
        "bench/program.html",
        status,
        session=session,
        workshop=session["workshop"],
        order=order,
        carvings=carvings,
        names={carving["id"]: carving["name"] for carving in carvings},
        current={
            c["id"]: c["proof"]["digest"] for line in order["lines"] for c in line["carvings"] if c["proof"]
        },
        bits=[bit for bit in settings["bits"] if not bit["retired"]],
        checks=checks,
        outcomes=OUTCOMES,
        kinds=KINDS,
        trouble=trouble,
    )


async def check(request: Request) -> Response:
    """Hold the program that was sent against what was signed."""
    api = Api(request)
    await bench_session(api)  # before the first byte of a large file
    sent = await read_form(request)
    order_id = request.path_params["order"]
    file = await sent.file("file")
    if file is None:
        return await _show(request, 422, _("Choose the program first."))
    received = Received(file.data, file.name, file.content_type, _fields(sent))
    bed = sent.text("bed").strip()
    where = f"/orders/{order_id}/beds/{bed}" if bed.isdecimal() else f"/orders/{order_id}"
    try:
        made = await api.send("POST", f"{where}/program-checks", file=received)
    except CallError as refused:
        if refused.status not in _SAID_NO:
            raise
        return await _show(request, refused.status, " ".join(refused.fields.values()) or refused.words)
    checks = made.json.get("items", [made.json])
    return go(f"/bench/orders/{order_id}/program" + (f"#check-{checks[0]['id']}" if checks else ""))


def _fields(sent: Sent) -> dict[str, tuple[str, ...]]:
    offsets = tuple(line.strip() for line in sent.text("offsets").splitlines() if line.strip())
    given = {
        "carvings": tuple(sent.texts("carvings")),
        "bit": (sent.text("bit"),),
        "flat_tool": (sent.text("flat_tool"),),
        "offsets": offsets,
    }
    return {name: values for name, values in given.items() if any(values)}


ROUTES = (
    ("/bench/orders/{order}/program", "GET", program),
    ("/bench/orders/{order}/program", "POST", check),
)
