"""The exported contracts are those of the code, and break only where the changelog says so."""

from __future__ import annotations

import subprocess
from dataclasses import fields
from pathlib import Path

import pytest
from graphql import build_schema as schema_from
from graphql import find_breaking_changes

from artwork.workpiece import Allowances, Bit
from schema import export, inputs
from schema.types import shop as graph

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
    (graph.Allowances, Allowances),
    (graph.Bit, Bit),
    (inputs.AllowancesInput, Allowances),
    (inputs.BitInput, Bit),
]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair[0].__name__)
def test_what_the_engine_allows_for_is_in_the_graph(pair):
    of_graph, of_engine = pair
    assert names_of(of_graph) == names_of(of_engine)


def released_sdl() -> str | None:
    """The schema as of the last tagged version; ``None`` while there is none."""
    tag = subprocess.run(
        ["git", "describe", "--tags", "--abbrev=0", "--match", "v*"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if tag.returncode:
        return None
    shown = subprocess.run(
        ["git", "show", f"{tag.stdout.strip()}:schema/slatproof.graphql"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return shown.stdout


def test_breaking_changes_are_in_the_changelog():
    before = released_sdl()
    if before is None:
        pytest.skip("no version has been released yet, so nothing can break")
    changes = find_breaking_changes(schema_from(before), schema_from(export.sdl()))
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8").split("\n## ")[1]
    missing = [change.description for change in changes if change.description not in changelog]
    assert not missing


def test_a_breaking_change_would_be_noticed():
    """The check itself works: a field taken away is found."""
    now = export.sdl()
    after = now.replace("  linkToken: String!\n", "", 1)
    assert after != now
    found = [change.description for change in find_breaking_changes(schema_from(now), schema_from(after))]
    assert found == ["Field OrderPlaced.linkToken was removed."]
