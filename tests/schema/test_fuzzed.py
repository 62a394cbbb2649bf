"""Queries and mutations made up from the GraphQL schema: none brings out an error that we did not foresee."""

from __future__ import annotations

import pytest
import schemathesis
from graphql import introspection_from_schema, parse_value
from hypothesis import strategies as st

from schema.build import build_schema
from tests.fuzzing import make_up, operations_of
from tests.running import FROM_HERE, Running

pytestmark = [
    pytest.mark.filterwarnings("ignore::hypothesis.errors.HypothesisDeprecationWarning"),
]

EXAMPLES = 8
JSON_VALUES = ("{}", "[]", "7", "null", '"words"', "{slats: []}", '{name: "Bench", slats: [{key: "a"}]}')
schemathesis.graphql.scalar("JSON", st.sampled_from(JSON_VALUES).map(parse_value))
OPERATIONS = operations_of(schemathesis.graphql.from_dict(introspection_from_schema(build_schema()._schema)))


@pytest.fixture(scope="session")
def signed_in(running: Running) -> dict[str, str]:
    cookies = "; ".join(f"{name}={value}" for name, value in running.maker().cookies.items())
    return FROM_HERE | {"Cookie": cookies}


@pytest.mark.parametrize("label", sorted(OPERATIONS))
def test_nothing_unforeseen_comes_out(label, running: Running, signed_in):
    def call(case):
        answer = case.call(base_url=f"{running.url}/graphql", headers=signed_in)
        assert answer.status_code in (200, 400, 413), answer.text
        assert "Something went wrong here" not in answer.text, answer.text

    make_up(OPERATIONS[label], EXAMPLES, call)
