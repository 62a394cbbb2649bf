"""Every root field of the graph × every member of the cast: the same answers as at the REST door.

There is one table for both doors, ``rest.txt``; each field is looked up by the operation that does the same.
"""

from __future__ import annotations

import pytest

from tests.access.cast import MEMBERS, Cast, door_of
from tests.access.graph_calls import call_of
from tests.access.test_rest import TABLE as ACCESS
from tests.schema.test_both_doors import GRAPH_ONLY
from tests.schema.test_both_doors import TABLE as SAME

ROOTS = ("Query.", "Mutation.")
OPERATIONS = {field: name for name, field in SAME.items() if field.startswith(ROOTS) and name != "revokeLink"}
OPERATIONS |= {"Query.node": "getProof", "Query.viewer": "listModels"}  # whoever is known at all
CODES = {"UNAUTHENTICATED": "who?", "NOT_ALLOWED": "no", "NOT_FOUND": "hidden", "SECOND_STEP_DUE": "due"}
OUTCOMES = {"NotAllowed": "no", "NotFound": "hidden"}
# The graph gives no value where the REST door says why it gives none.
OTHERWISE = {("Query.batch", "no"): "hidden"}


def answered(field: str, cast: Cast, member: str) -> str:
    caller = (
        cast.bench_client if (field, member) == ("Mutation.eraseClient", "client") else cast.callers[member]
    )
    query, variables = call_of(field, cast.things, door_of(member))
    answer = caller.post("/graphql", json={"query": query, "variables": variables}).json()
    if errors := answer.get("errors"):
        assert "extensions" in errors[0], errors
        return CODES[errors[0]["extensions"]["code"]]
    value = answer["data"][field.split(".")[1]]
    if value is None:
        return "hidden"
    return OUTCOMES.get(value.get("__typename"), "yes") if isinstance(value, dict) else "yes"


def expected(field: str, member: str) -> str:
    word = ACCESS[OPERATIONS[field]][member]
    return OTHERWISE.get((field, word), word)


def test_every_root_field_is_called():
    fields = {f for f in SAME.values() if f.startswith(ROOTS)} | {
        f for f in GRAPH_ONLY if f.startswith(ROOTS)
    }
    assert set(OPERATIONS) == fields


@pytest.mark.parametrize("field", sorted(OPERATIONS))
def test_the_cast_is_answered_as_at_the_rest_door(field, cast: Cast):
    found = {member: answered(field, cast, member) for member in MEMBERS}
    assert found == {member: expected(field, member) for member in MEMBERS}
