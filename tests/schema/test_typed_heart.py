"""Checks, facts and frames at both doors: what is given is what the contracts say, and the same at both."""

from __future__ import annotations

import json

import cv2
import httpx2
import numpy as np
import pytest
from pydantic import TypeAdapter
from shapely.geometry import shape

from artwork.picture_frame import frame_of
from artwork.relief import bare
from artwork.workpiece import Slat
from schema.build import build_schema
from service.rest.responses.judged import CheckBody, FactsBody, ReportBody
from tests.running import Json, Running, art, carvings

PROOF = """query($id: ID!) { proof(id: $id) {
  verdict pictureFrame { mmPerPixel left top }
  check { verdict sentence
    findings { kind severity place measured required nominal worst message cure count length }
    figures { leastLine leastLineRequired deepestCut woodLeft minutes lineCosts { name width } assumptions } }
  facts { engine slat { key outline keepOuts { reason freeDepth shape } } bit { angleDeg }
    allowances { sanding sandingMadeUp } placement { x y scale } fileRemarks { name words } }
  carving { allowances { sanding } reading { kind report { sentence pages inks { colour carved } counts { name count }
    remarks { code severity } choices { words wishes { way } } } } } } }"""


@pytest.fixture(scope="module")
def proved(running: Running) -> tuple[Json, Json, bytes]:
    """A proof with findings at the REST door, at the graph, and its picture."""
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    order = placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    carving = carvings(client.settled(order["id"]))[0]
    proof = carving["proof"]
    answer: httpx2.Response = client.post("/graphql", json={"query": PROOF, "variables": {"id": proof["id"]}})
    graph = answer.json()
    assert "errors" not in graph, json.dumps(graph["errors"])
    TypeAdapter(ReportBody).validate_python(carving["reading"]["report"])
    return proof, graph["data"]["proof"], client.get(proof["picture_url"]).content


def test_the_rest_door_gives_what_its_contract_says(proved: tuple[Json, Json, bytes]):
    proof, _, _ = proved
    TypeAdapter(CheckBody).validate_python(proof["check"])
    TypeAdapter(FactsBody).validate_python(proof["facts"])


def test_both_doors_say_the_same(proved: tuple[Json, Json, bytes]):
    proof, graph, _ = proved
    check = proof["check"]
    assert graph["verdict"] == proof["verdict"].upper().replace("-", "_")
    for at_rest, found in zip(check["findings"], graph["check"]["findings"], strict=True):
        assert found["kind"] == at_rest["kind"].upper().replace("-", "_")
        assert found["severity"] == at_rest["severity"].upper()
        same = ("place", "measured", "required", "nominal", "worst", "message", "cure", "count", "length")
        assert {name: found[name] for name in same} == {name: at_rest[name] for name in same}
    assert graph["check"]["figures"]["deepestCut"] == check["figures"]["deepest_cut"]
    assert graph["check"]["figures"]["lineCosts"] == check["figures"]["line_costs"]
    assert graph["facts"]["slat"]["outline"] == proof["facts"]["slat"]["outline"]
    assert graph["facts"]["allowances"]["sanding"] == proof["facts"]["allowances"]["sanding"]


def test_marks_can_be_drawn_on_the_picture(proved: tuple[Json, Json, bytes]):
    """By the frame, the slat's outline falls on the wood of the picture, and what is just outside it on paper."""
    proof, graph, picture = proved
    frame = proof["picture_frame"]
    assert graph["pictureFrame"] == {
        "mmPerPixel": frame["mm_per_pixel"],
        "left": frame["left"],
        "top": frame["top"],
    }
    outline = shape(proof["facts"]["slat"]["outline"])
    engine = bare(Slat("a", "a", outline, 25.0), 1 / frame["mm_per_pixel"], 8.0)
    assert (frame["left"], frame["top"]) == (engine.left, engine.top)
    pixels = cv2.imdecode(np.frombuffer(picture, np.uint8), cv2.IMREAD_COLOR)
    assert pixels is not None

    def colour(x: float, y: float) -> np.ndarray:
        column = int((x - frame["left"]) / frame["mm_per_pixel"])
        row = int((frame["top"] - y) / frame["mm_per_pixel"])
        return pixels[row, column].astype(int)

    left, low, right, high = outline.bounds
    middle = (low + high) / 2
    paper = colour(left - 6.0, middle)
    assert np.abs(colour(right + 6.0, middle) - paper).max() < 30
    assert np.abs(colour((left + right) / 2, high - 3.0) - paper).max() > 30


def test_a_frame_needs_no_picture():
    assert vars(frame_of([(-10.0, 0.0), (10.0, 0.0), (10.0, 300.0)], 8.0)) == {
        "mm_per_pixel": 0.125,
        "left": -18.0,
        "top": 308.0,
    }


def test_nothing_of_the_graph_is_untyped_or_in_snake_case():
    kinds = build_schema()._schema.type_map.values()
    own = [kind for kind in kinds if not kind.name.startswith("__")]
    assert "JSON" not in {kind.name for kind in own}
    fields = [f"{kind.name}.{name}" for kind in own for name in getattr(kind, "fields", {})]
    assert [name for name in fields if "_" in name] == []
