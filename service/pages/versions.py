"""Versions of a drawing that carve, for the pages that offer them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.pages.calling import WHO_ASKS, Api, CallError

Json = Mapping[str, Any]
BUSY = frozenset({"reading", "checking"})
"""States of carvings that background work is about."""
_MAY_CHANGE = frozenset({"draft", "submitted"})


async def versions_of(api: Api, order: Json, carvings: Sequence[Json]) -> Mapping[str, Json]:
    """What is proposed by carving, of those whose proof found something, while the order may still be changed."""
    if order["state"] not in _MAY_CHANGE:
        return {}
    wanted = [
        carving["id"]
        for carving in carvings
        if carving["proof"] and carving["proof"]["verdict"] != "carves" and carving["state"] not in BUSY
    ]
    if not wanted:
        return {}
    try:
        found = await api.get(f"/orders/{order['id']}/versions", carvings=wanted)
    except CallError as error:
        if error.status in WHO_ASKS:
            raise
        return {}  # not now; the page is of use without them
    return {each["carving_id"]: each for each in found["items"]}


def are_awaited(offers: Mapping[str, Json]) -> bool:
    """Whether some are being worked out: the page is asked for again then."""
    return any(each["state"] == "working" for each in offers.values())
