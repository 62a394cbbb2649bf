"""Writes the contracts as files: ``python -m schema.export``. A test fails where they differ."""

from __future__ import annotations

import json
from pathlib import Path

from graphql import lexicographic_sort_schema, print_schema

from schema.build import build_schema
from service.rest.openapi import document

HERE = Path(__file__).parent
SDL = HERE / "slatproof.graphql"
OPENAPI = HERE / "openapi.json"


def sdl() -> str:
    """The GraphQL schema as text, sorted so that a change shows as a change."""
    return print_schema(lexicographic_sort_schema(build_schema()._schema)) + "\n"


def openapi() -> str:
    """The OpenAPI document as text."""
    return json.dumps(document(), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def main() -> None:
    """Write both files."""
    SDL.write_text(sdl(), encoding="utf-8")
    OPENAPI.write_text(openapi(), encoding="utf-8")


if __name__ == "__main__":
    main()
