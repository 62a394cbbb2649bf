"""The maker's home: what needs a decision, what waits for clients, what is to be carved, what was made."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _, ngettext
from service.pages.bench import bench_session
from service.pages.calling import Api
from service.pages.rendering import render

Json = Mapping[str, Any]
PAGE = 20
NEEDS = "needs"
SHELVES: Mapping[str, tuple[str, Json]] = {
    NEEDS: (
        L_("Needs you"),
        {"state": ["SUBMITTED"], "carvingState": ["SIGNED", "APPROVED", "CHANGE_ASKED", "CHECKED", "STALE"]},
    ),
    "clients": (
        L_("Waiting for clients"),
        {"state": ["SUBMITTED"], "carvingState": ["OFFERED", "FEASIBLE", "REJECTED", "NO_ART", "REFUSED"]},
    ),
    "carve": (L_("To carve"), {"state": ["RELEASED", "IN_PRODUCTION"]}),
    "made": (L_("Made"), {"state": ["DONE"]}),
}
"""What the home shows: its name, and which orders are on it."""
_APPROVABLE = frozenset({"signed", "feasible", "offered", "approved"})
_OFFERABLE = frozenset({"checked", "change-asked"})
_MOST_COUNTED = 100
_NUMBERED = re.compile(r"^\s*(order|no\.?|#)\s*(?=\d)", re.IGNORECASE)
"""What people write before an order's number: an order is found by the number alone."""
_QUESTION = """
query Home(
  $filter: OrderFilterInput, $first: Int!, $after: String, $needs: OrderFilterInput, $clients: OrderFilterInput
) {
  orders(filter: $filter, first: $first, after: $after) {
    edges { node {
      id number state revision neededBy contact { name organisation }
      lines { quantity modelKey }
      carvings { id slatKey piece state proof { id digest picture verdict
        check { figures { leastLine leastLineRequired leastLand leastLandRequired } } } }
    } }
    pageInfo { hasNextPage endCursor }
  }
  needs: orders(filter: $needs, first: 100) { edges { cursor } }
  clients: orders(filter: $clients, first: 100) { edges { cursor } }
  orderCounts { state count }
  models { key name slats { key name } }
}
"""


async def queue(request: Request) -> Response:
    """Orders on one shelf by the day they are needed; or those that a search or a filter finds."""
    done, released = (request.query_params.get(name, "") for name in ("done", "released"))
    counted = done.isdecimal() and released.isdecimal()
    said = ""
    if counted:
        said = ngettext(
            "{count} order decided, {released} of them released.",
            "{count} orders decided, {released} of them released.",
            int(done),
            released=int(released),
        )
    return await show_home(request, said=said)


async def show_home(request: Request, status: int = 200, trouble: str = "", said: str = "") -> Response:
    """The home, after a decision that was refused too."""
    api = Api(request)
    session = await bench_session(api)
    asked = request.query_params
    sought = any(asked.get(name) for name in ("words", "state", "verdict"))
    shelf = "" if sought else asked.get("show", NEEDS)
    wanted = {
        "state": asked.getlist("state"),
        "verdict": asked.getlist("verdict"),
        "words": asked.get("words", ""),
        "order_by": asked.get("order_by", "needed-by"),
    }
    filtered = {**SHELVES[shelf][1], "orderBy": "NEEDED_BY"} if shelf in SHELVES else _filter(wanted)
    found = await api.ask(
        _QUESTION,
        filter=filtered,
        first=PAGE,
        after=asked.get("after") or None,
        needs=SHELVES[NEEDS][1],
        clients=SHELVES["clients"][1],
    )
    page = found["orders"]["pageInfo"]
    models = {model["key"]: model for model in found["models"]}
    states = {_plain_name(count["state"]): count["count"] for count in found["orderCounts"]}
    here = {"show": shelf} if shelf in SHELVES else wanted
    return render(
        request,
        "bench/queue.html",
        status,
        session=session,
        workshop=session["workshop"],
        orders=[row_of(edge["node"], models) for edge in found["orders"]["edges"]],
        counts=states,
        models=models,
        shelves=SHELVES,
        shelf=shelf if shelf in SHELVES else "",
        on_shelf={
            NEEDS: _counted(found["needs"]),
            "clients": _counted(found["clients"]),
            "carve": str(states.get("released", 0) + states.get("in-production", 0)),
            "made": str(states.get("done", 0)),
        },
        wanted=wanted,
        more=urlencode({**here, "after": page["endCursor"]}, doseq=True) if page["hasNextPage"] else "",
        trouble=trouble,
        said=said,
    )


def _counted(orders: Json) -> str:
    count = len(orders["edges"])
    return f"{count}{'+' if count == _MOST_COUNTED else ''}"


def _filter(wanted: Mapping[str, Any]) -> Json:
    found = {
        "state": [_graph_name(state) for state in wanted["state"]],
        "verdict": [_graph_name(verdict) for verdict in wanted["verdict"]],
        "words": _NUMBERED.sub("", wanted["words"]),
        "orderBy": _graph_name(wanted["order_by"]),
    }
    return {name: value for name, value in found.items() if value}


def _graph_name(name: str) -> str:
    return name.upper().replace("-", "_")


def _plain_name(name: str) -> str:
    return name.lower().replace("_", "-")


def row_of(order: Json, models: Mapping[str, Json]) -> Json:
    """An order as one row, with what can be decided in it; what the workshop has no more keeps its key."""
    carvings = [{**c, "state": _plain_name(c["state"])} for c in order["carvings"]]
    names = {slat["key"]: slat["name"] for model in models.values() for slat in model["slats"]}
    proved = [carving["proof"] for carving in carvings if carving["proof"]]
    states = {carving["state"] for carving in carvings}
    alone = bool(carvings) and len(proved) == len(carvings) and all(c["piece"] is None for c in carvings)
    sent_in = order["state"] == "SUBMITTED"
    carves = all(_plain_name(proof["verdict"]) != "will-not-carve" for proof in proved)
    return {
        **order,
        "state": _plain_name(order["state"]),
        "lines": [{**line, "model": _name_of(models.get(line["modelKey"]), line)} for line in order["lines"]],
        "slats": list(dict.fromkeys(names.get(c["slatKey"], c["slatKey"]) for c in carvings)),
        "states": sorted(states),
        "proof": proved[0] if proved else None,
        "verdict": _plain_name(_worst([proof["verdict"] for proof in proved])) if proved else None,
        "tightest": tightest([proof["check"]["figures"] for proof in proved]),
        "shown": " ".join(map(_shown, (carving for carving in carvings if carving["proof"]))),
        "may_approve": alone and sent_in and carves and states <= _APPROVABLE and states != {"feasible"},
        "releases": states <= {"signed", "approved"},
        "may_offer": alone and sent_in and carves and states <= _OFFERABLE,
    }


def _shown(carving: Json) -> str:
    return f"{carving['id']}:{carving['proof']['digest']}:{carving['proof']['picture']}"


def _name_of(model: Json | None, line: Json) -> str:
    return str(model["name"] if model else line["modelKey"])


def _worst(verdicts: Sequence[str]) -> str:
    return min(verdicts, key=("WILL_NOT_CARVE", "CARVES_WITH_REMARKS", "CARVES").index)


def tightest(figures: Sequence[Json]) -> Json | None:
    """Of all lines and lands of some proofs the one with the least to spare: what it has and what it needs, mm."""
    found = []
    for each in figures:
        for name, has, needs in (
            (_("line"), each["leastLine"], each["leastLineRequired"]),
            (_("land"), each["leastLand"], each["leastLandRequired"]),
        ):
            if has is not None and needs:
                found.append({"name": name, "has": has, "needs": needs, "enough": has >= needs})
    return min(found, key=lambda one: one["has"] / one["needs"], default=None)


ROUTES = (("/bench", "GET", queue),)
