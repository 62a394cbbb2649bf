"""What the maker looks at beside an order: a cross-section, two proofs beside each other, the record."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import _
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.findings import remarks_of
from service.pages.rendering import local, render
from service.pages.slats import slat_of


async def section(request: Request) -> Response:
    """The cross-section of a proof at a place."""
    api = Api(request)
    session = await bench_session(api)
    proof = await api.get(f"/proofs/{request.path_params['proof']}")
    query = {name: request.query_params.get(name) for name in ("x", "y", "turn_deg")}
    found = await api.get(f"/proofs/{proof['id']}/section", **query)
    return render(
        request,
        "bench/section.html",
        session=session,
        workshop=session["workshop"],
        proof=proof,
        section=found,
        back=local(request.query_params.get("back", ""), "/bench"),
    )


async def compare(request: Request) -> Response:
    """Two proofs of one carving beside each other."""
    order_id = request.path_params["order"]
    api = Api(request)
    session = await bench_session(api)
    order = await api.get(f"/orders/{order_id}")
    carving_id = request.query_params.get("carving", "")
    found = [(line, c) for line in order["lines"] for c in line["carvings"] if c["id"] == carving_id]
    if not found:
        raise CallError(404, {"title": _("There is no such carving")})
    line, carving = found[0]
    proofs = (await api.send("GET", f"/carvings/{carving_id}/proof-history")).json["items"]
    by_id = {proof["id"]: proof for proof in proofs}
    newest = [proof["id"] for proof in proofs[:2]]
    wanted = [request.query_params.get(name, "") for name in ("a", "b")]
    pair = [by_id[one] for one in wanted if one in by_id] or [by_id[one] for one in reversed(newest)]
    model = await api.get(f"/models/{line['model_key']}")
    return render(
        request,
        "bench/compare.html",
        session=session,
        workshop=session["workshop"],
        order=order,
        carving=carving,
        proofs=proofs,
        pair=[
            {
                "proof": proof,
                "slat": slat_of(model, proof["facts"]["slat"]["key"], [proof]),
                "remarks": remarks_of(proof),
            }
            for proof in pair
        ],
    )


async def record(request: Request) -> Response:
    """The record of decisions, and whether its chain holds."""
    api = Api(request)
    session = await bench_session(api)
    page = await api.get("/record", first=100, after=request.query_params.get("after", ""))
    checked = await api.get("/record/verification") if request.query_params.get("check") else None
    return render(
        request,
        "bench/record.html",
        session=session,
        workshop=session["workshop"],
        entries=page["items"],
        more=page["next"],
        checked=checked,
    )


ROUTES = (
    ("/bench/record", "GET", record),
    ("/bench/orders/{order}/compare", "GET", compare),
    ("/bench/proofs/{proof}/section", "GET", section),
)
