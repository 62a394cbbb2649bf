"""The exported contracts are those of the code, and break only where the changelog says so."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from copy import deepcopy
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from artwork.workpiece import Allowances, Bit
from schema import export, inputs, release
from schema.breaking import broken_graph, broken_rest
from schema.types import judged
from schema.types import shop as graph
from service.rest.openapi import document
from service.rest.requests.shop import AllowancesAsk, BitAsk

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "made", [(export.SDL, export.sdl), (export.OPENAPI, export.openapi)], ids=["sdl", "openapi"]
)
def test_the_exported_file_is_that_of_the_code(made):
    path, text = made
    assert path.read_text(encoding="utf-8") == text(), (
        "run `python -m schema.export` and look at what changed"
    )


def names_of(kind: type) -> set[str]:
    return {field.name for field in fields(kind)} - {"key", "revision", "retired"}


PAIRS = [
    (judged.Allowances, Allowances),
    (graph.Bit, Bit),
    (inputs.input_of(AllowancesAsk), Allowances),
    (inputs.input_of(BitAsk), Bit),
]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair[0].__name__)
def test_what_the_engine_allows_for_is_in_the_graph(pair):
    of_graph, of_engine = pair
    assert names_of(of_graph) == names_of(of_engine)


def broken() -> list[str]:
    """What has broken since the last release, at either door."""
    graph = broken_graph(release.SDL.read_text(encoding="utf-8"), export.sdl())
    return graph + broken_rest(json.loads(release.OPENAPI.read_text(encoding="utf-8")), document())


def test_breaking_changes_are_in_the_changelog():
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8").split("\n## ")[1]
    missing = [change for change in broken() if change not in changelog]
    assert not missing, "say in the changelog, word for word, what breaks; or do not break it"


def test_a_field_taken_out_of_the_graph_is_noticed():
    now = export.sdl()
    after = re.sub(r'  """[^"]*"""\n  linkToken: String!\n', "", now, count=1)
    assert after != now
    assert broken_graph(now, after) == ["Field OrderPlaced.linkToken was removed."]
    assert broken_graph(now, now) == []


def changed(change: Callable[[Any], object]) -> list[str]:
    now: Any = document()
    after = deepcopy(now)
    change(after)
    return broken_rest(now, after)


def properties(made: Any, name: str) -> Any:
    return made["components"]["schemas"][name]["properties"]


BREAKS: dict[str, tuple[Callable[[Any], object], str]] = {
    "an operation": (lambda d: d["paths"]["/waivers"].pop("post"), "POST /waivers was removed."),
    "a query": (lambda d: d["paths"]["/orders"]["get"]["parameters"].clear(), "listOrders no longer takes first."),
    "a precondition": (
        lambda d: d["paths"]["/waivers"]["post"]["parameters"].append(
            {"name": "If-Match", "in": "header", "required": True, "schema": {"type": "string"}}
        ),
        "waiveRemarks needs If-Match.",
    ),
    "what is given": (lambda d: properties(d, "OrderBody").pop("reason"), "OrderBody.reason was removed."),
    "what is given, deep down": (
        lambda d: properties(d, "ProofBody").update(number={"type": "string"}),
        "ProofBody.number was integer and is string.",
    ),
    "what may be null now": (
        lambda d: properties(d, "LineBody").update(note={"anyOf": [{"type": "string"}, {"type": "null"}]}),
        "LineBody.note was string and is null or string.",
    ),
    "what is asked": (
        lambda d: d["components"]["schemas"]["WaiverAsk"]["required"].append("because"),
        "WaiverAsk.because is needed.",
    ),
    "what is not always there": (
        lambda d: d["components"]["schemas"]["OrderBody"]["required"].remove("url"),
        "OrderBody.url may be missing.",
    ),
    "a choice": (
        lambda d: d["components"]["schemas"]["Scope"]["enum"].remove("orders.sign"),
        "Scope no longer takes orders.sign.",
    ),
    "an answer": (
        lambda d: d["paths"]["/batches"]["post"]["responses"].pop("202"), "takeBatch no longer answers 202.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BREAKS)
def test_what_would_break_a_program_at_the_rest_door_is_noticed(what):
    change, words = BREAKS[what]
    assert words in changed(change)


ADDITIONS: list[Callable[[Any], object]] = [
    lambda d: d["paths"].update({"/new": {"get": {}}}),
    lambda d: properties(d, "OrderBody").update(colour={"type": "string"}),
    lambda d: properties(d, "WaiverAsk").update(because={"type": "string"}),
    lambda d: d["components"]["schemas"]["Scope"]["enum"].append("orders.dream"),
]


@pytest.mark.parametrize("addition", ADDITIONS)
def test_additions_break_nothing(addition):
    assert changed(addition) == []
