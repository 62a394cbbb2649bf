"""A text of its own on every piece, and one picture over several slats: asked for, and shown as one."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render
from service.pages.slats import slat_of

Json = Mapping[str, Any]
_MM = ("cap_height", "least_cap_height")
START = {
    "cap_height": "30",
    "least_cap_height": "20",
    "spacing": "0.05",
    "lines": "1",
    "turn_deg": "90",
    "typeface": "lato-bold",
}
_STOPPED = frozenset({None, "will-not-carve"})
"""Verdicts of parts that cannot be made as they are; those without one were refused."""


async def suites_of(api: Api, order: Json, models: Mapping[str, Json]) -> list[Json]:
    """The order's lists and large pictures, with what a page shows of them; ``models`` by key."""
    found = (await api.get(f"/orders/{order['id']}/suites"))["items"]
    of_line = {line["id"]: models[line["model_key"]] for line in order["lines"]}
    proofs = {c["id"]: c["proof"] for line in order["lines"] for c in line["carvings"] if c["proof"]}
    return [_as_shown(suite, of_line[suite["line_id"]], proofs) for suite in found]


def _as_shown(suite: Json, model: Json, proofs: Mapping[str, Json]) -> Json:
    parts = []
    for part in suite["parts"]:
        proof = proofs.get(part["carving_id"])
        slat = slat_of(model, part["slat_key"], [proof] if proof else [])
        parts.append({**part, "slat_name": slat["name"], "proof_id": proof["id"] if proof else None})
    return {
        **suite,
        "parts": parts,
        "busy": any(part["state"] in {"reading", "checking"} for part in parts),
        "noted": noted(parts),
        "file_words": _file_words(
            proofs[part["carving_id"]] for part in parts if part["carving_id"] in proofs
        ),
        "states": sorted({part["state"] for part in parts}),
    }


def noted(parts: Sequence[Json]) -> list[Json]:
    """Each note once, with the parts that it is said of; first those of parts that cannot be made as they are.

    `everywhere`: it is said of all of several parts.
    """
    said: dict[str, list[Json]] = {}
    for part in parts:
        for words in part["notes"]:
            said.setdefault(words, []).append(part)
    grouped = [
        {
            "words": words,
            "parts": of,
            "everywhere": len(of) == len(parts) > 1,
            "stops": any(part["verdict"] in _STOPPED for part in of),
        }
        for words, of in said.items()
    ]
    return sorted(grouped, key=lambda note: not note["stops"])


def _file_words(proofs: Iterable[Json]) -> dict[str, str]:
    """Kind of remark → its words, of what the file lacked that a whole is made from."""
    named = (pair for proof in proofs for pair in proof["facts"].get("file_remarks", {}).items())
    return {name.rpartition("-")[0]: words for name, words in named}


def members(suites: Sequence[Json]) -> frozenset[str]:
    """Ids of the carvings that belong to a whole."""
    return frozenset(part["carving_id"] for suite in suites for part in suite["parts"])


def whole_of(sent: Sent) -> list[Json]:
    """The lists and pictures that the form's page showed, as the API takes them."""
    parts = (text.split(":") for text in sent.texts("whole"))
    return [{"suite_id": part[0], "digest": part[1]} for part in parts if len(part) == 2]


async def lists_page(request: Request) -> Response:
    """Where a list or a picture over several slats is asked for."""
    return await _show(request, START)


async def _show(
    request: Request,
    values: Mapping[str, str],
    status: int = 200,
    trouble: str = "",
    slats: Sequence[str] = (),
) -> Response:
    order_id = request.path_params["order"]
    api = Api(request, order_id)
    order = await api.get(f"/orders/{order_id}")
    session = await api.get("/session")
    models = {
        key: await api.get(f"/models/{key}") for key in sorted({line["model_key"] for line in order["lines"]})
    }
    names = {file["id"]: file["name"] for file in order["artworks"]}
    readings = {
        carving["reading"]["id"]: names[carving["artwork_id"]]
        for line in order["lines"]
        for carving in line["carvings"]
        if carving["reading"] is not None and carving["reading"]["state"] == "read"
    }
    return render(
        request,
        "client/lists.html",
        status,
        order=order,
        workshop=session["workshop"],
        models=models,
        suites=await suites_of(api, order, models),
        readings=readings,
        typefaces=(await api.get("/typefaces"))["items"],
        values=values,
        chosen=frozenset(slats),
        trouble=trouble,
    )


async def save_list(request: Request) -> Response:
    """Set a list, lay a picture over several slats, or take either off."""
    order_id = request.path_params["order"]
    sent = await read_form(request)
    api = Api(request, order_id)
    revision = sent.whole("revision") or 0
    try:
        match sent.text("do"):
            case "names":
                await api.send("PUT", f"/orders/{order_id}/names", await _names(sent), revision=revision)
            case "text":
                await api.send(
                    "PUT", f"/orders/{order_id}/names", await _retold(api, sent), revision=revision
                )
            case "across":
                await api.send("PUT", f"/orders/{order_id}/across", _across(sent), revision=revision)
            case "check":
                await api.send("POST", f"/suites/{sent.text('suite')}/checks", revision=revision)
            case "drop":
                await api.send("POST", f"/suites/{sent.text('suite')}/removal", revision=revision)
    except CallError as refused:
        if refused.status not in {403, 409, 412, 413, 422, 429}:
            raise
        words = " ".join(dict.fromkeys(refused.fields.values())) or refused.words
        return await _show(request, {**START, **sent.values()}, refused.status, words, sent.texts("slats"))
    return go(f"/order/{order_id}")


async def _names(sent: Sent) -> Json:
    line, _, slat = sent.text("where").partition(":")
    file = await sent.file("table")
    return {
        "line_id": line,
        "slat_key": slat,
        "texts": "" if file else sent.text("texts"),
        "table": base64.b64encode(file.data).decode() if file else "",
        "columns": [name for name in sent.text("columns").split(",") if name.strip()],
        "turn_deg": sent.number("turn_deg") or 0.0,
        "rule": rule_of(sent.values()),
    }


async def _retold(api: Api, sent: Sent) -> Json:
    """A list as it is, with another text on one piece."""
    suite = await api.get(f"/suites/{sent.text('suite')}")
    wanted, place = suite["wanted"], sent.whole("place")
    texts = [sent.text("text") if part["place"] == place else part["text"] for part in suite["parts"]]
    return {
        "line_id": suite["line_id"],
        "slat_key": wanted["slats"][0],
        "rule": wanted["rule"],
        "place": wanted["field"],
        "turn_deg": wanted["turn_deg"],
        "texts": "\n".join(texts),
    }


def rule_of(values: Mapping[str, str]) -> Json:
    """How texts are set, as the API takes it, from a form's fields; a figure that is none counts as nought."""

    def number(name: str) -> float:
        try:
            return float(values.get(name, "").replace(",", "."))
        except ValueError:
            return 0.0

    return {
        "typeface": values.get("typeface", ""),
        **{name: number(name) for name in _MM},
        "tracking": number("spacing"),
        "lines": int(number("lines")) or 1,
    }


def _across(sent: Sent) -> Json:
    slats = [text.partition(":") for text in sent.texts("slats")]
    return {
        "line_id": slats[0][0] if slats else "",
        "reading_id": sent.text("reading"),
        "slats": [slat for _, _, slat in slats],
        "without_slivers": sent.flag("without_slivers"),
    }


_LISTS = "/order/{order}/lists"
ROUTES = ((_LISTS, "GET", lists_page), (_LISTS, "POST", save_list))
