"""Things that can be asked for again by id. Ids are the same at both doors."""

from __future__ import annotations

import strawberry

API = "/api/v1"
"""Where files are fetched: GraphQL gives their addresses."""


@strawberry.interface
class Node:
    """Something that can be asked for again by its id."""

    id: strawberry.ID
