"""One call of every operation that would change nothing even for those who may: the order is done already."""

from __future__ import annotations

import re
from typing import Any

from service.rest.operation import Operation
from tests.access.cast import Things, door_of
from tests.running import API, Json, shown

NOTHING = "a" * 26


def path_of(operation: Operation, things: Things, member: str) -> str:
    """The operation's address, about the client's things."""
    carving = things.carving
    named = {
        "workshop": door_of(member),
        "model": "longwalk-bench",
        "bit": "v60",
        "order": about(operation.name, things)["id"],
        "line": things.order["lines"][0]["id"],
        "carving": carving["id"],
        "proof": carving["proof"]["id"],
        "artwork": carving["artwork_id"],
        "reading": carving["reading"]["id"],
        "code": "none",
        "form": "svg",
        "shown": "carved",
        "batch": things.batch,
        "bed": "1",
        "job": things.job,
        "suite": things.suite,
        "mark": things.mark,
        "page": "1",
        "item": "1-1-1-back-centre",
        "check": NOTHING,
        "board": NOTHING,
        "person": things.helper_id,
        "token": NOTHING,
        "link": NOTHING,
        "webhook": NOTHING,
        "delivery": f"msg_{NOTHING}",
    }
    return (
        API
        + re.sub(r"{(\w+)}", lambda found: named[found[1]], operation.path)
        + QUERIES.get(operation.name, "")
    )


# These change something when they are allowed, so they are about an order that nobody else needs.
ABOUT_SPARE = {"waiveTogether", "mailLink", "revokeLinks", "revokeLink", "listLinks"}
QUERIES = {
    "getProofSection": "?x=10&y=100",
    "listVerdicts": f"?carving={NOTHING}",
    "getJointSheets": f"?orders={NOTHING}",
}


def about(name: str, things: Things) -> Json:
    """The order that a call is about; what is at the bench cannot be erased."""
    if name in ABOUT_SPARE:
        return things.spare
    return things.released if name == "eraseClient" else things.order


def revision_of(operation: Operation, things: Things) -> int:
    """The revision that is current: of the order, the carving, or none of the workshop's settings."""
    if "{suite}" in operation.path:
        return 999_999
    if "{carving}" in operation.path:
        return int(things.carving["revision"])
    return int(about(operation.name, things)["revision"]) if "{order}" in operation.path else 999_999


def body_of(operation: Operation, things: Things, member: str) -> dict[str, Any]:
    """What ``httpx2`` is given beside the address."""
    headers = {"If-Match": f'"{revision_of(operation, things)}"'} if operation.conditional else {}
    if operation.takes_file:
        fields = {"model": "none"} if operation.name == "checkLogo" else {"carvings": things.carving["id"]}
        form = {"files": {"file": ("a.svg", b"<svg/>")}, "data": fields}
        return form | {"headers": headers}
    if operation.ask is None:
        return {"headers": headers}
    return {"headers": headers, "json": _ask(operation.name, things, member)}


def _on(things: Things) -> dict[str, str]:
    return {"line_id": things.order["lines"][0]["id"]}


def _ask(name: str, things: Things, member: str) -> dict[str, Any]:
    proof = shown(things.order)[0]
    slat = {"key": "a", "name": "a", "outline": [[[0, 0], [50, 0], [50, 300]]], "thickness": 25}
    return {
        "saveWorkshop": {"name": "Oxbarrow", "allowances": {}, "usual_bit": "v60"},
        "saveModel": {"name": "Bench", "slats": [slat]},
        "writeMessage": {"words": "\x07"},
        "drawRow": {"count": 3, "width": 100, "length": 300},
        "drawSlat": {"width": 100, "length": 300},
        "recordOutcome": {"outcome": "fine", "x": 3.5},
        "acceptTimeFactor": {"time_scale": 97.0},
        "makeTestBoard": {"bit_key": "none"},
        "saveTestBoardReadings": {"readings": {"L3.width": 1.0}},
        "acceptTestBoard": {"names": ["sanding"]},
        "retireModel": {"retired": True},
        "retireBit": {"retired": True},
        "setNames": {**_on(things), "slat_key": "back-left-3", "rule": {"typeface": "none"}, "texts": "A"},
        "layAcross": {
            **_on(things),
            "reading_id": things.carving["reading"]["id"],
            "slats": ["back-left-3", "back-centre"],
        },
        "waiveTogether": {"whole": {"suite_id": things.suite, "digest": "0" * 64}, "kinds": ["tip"]},
        "saveMachine": {},
        "proposeMark": proof,
        "approveMark": {"digest": "0" * 64, "picture": "0" * 64},
        "savePrices": {"currency": "USD", "entries": []},
        "cancelOrder": {"reason": "no more"},
        "recallOrder": {"reason": "no more"},
        "setTravel": {"km": 10.0},
        "splitOrder": {"lines": [{"line_id": things.order["lines"][0]["id"], "quantity": 1}]},
        "releaseOrder": {"shown": [proof]},
        "offerProofs": {"shown": [proof]},
        "signOff": {"shown": [proof]},
        "findFeasible": {"shown": [proof]},
        "waiveRemarks": {"shown": proof, "remarks": ["tip-1"]},
        "askForChange": {"shown": proof, "words": "smaller"},
        "rejectProof": {"shown": proof, "reason": "too thin"},
        "useArtwork": {"artwork_id": things.carving["artwork_id"]},
        "placeArt": {"x": 0, "y": 0, "scale": 1},
        "changeByHand": {"kind": "thicken", "x": 0, "y": 0},
        "tickItems": {"items": ["1-99-1-back-centre"], "seen": "to-carve", "to": "carved"},
        "remakeItem": {"reason": "other"},
        "shiftItem": {"x": 900.0, "y": 0.0},
        "takeBatch": {"order_ids": [things.spare["id"]]},
        "signIn": {"email": f"{member}@nowhere.example", "password": "not this one"},
        "openLink": {"secret": "splink_nothing"},
        "mailLostLinks": {"email": "imke@quillfern.example"},
        "askForLink": {"secret": "splink_nothing"},
        "askForPassword": {"email": f"{member}@nowhere.example"},
        "whosePassword": {"secret": "sppass_nothing"},
        "choosePassword": {"secret": "sppass_nothing", "password": "x"},
        "beginSecondStep": {"password": "not this one"},
        "confirmSecondStep": {"code": "000000"},
        "endSessions": {"password": "not this one", "session_id": NOTHING},
        "changePassword": {"password": "not this one", "new_password": "x"},
        "goToWorkshop": {"workshop": "nowhere"},
        "requireSecondStep": {"password": "not this one", "required": False},
        "endSecondStep": {"password": "not this one", "code": "000000"},
        "invitePerson": {"email": "not an address", "name": "Nobody"},
        "makeToken": {"name": "site", "scopes": []},
        "signAddresses": {"urls": [f"{API}/proofs/{NOTHING}/picture"]},
        "setPayment": {"state": "unsaid"},
        "quoteFor": {"lines": [{"model_key": "longwalk-bench", "quantity": 1}]},
        "makeWebhook": {"url": "http://127.0.0.1/"},  # which is not taken
    }.get(name, {})
