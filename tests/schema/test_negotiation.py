"""What an operation is answered in: by ``Accept`` as clients really send it, and by the clients themselves.

RFC 9110 §12.5.1 (Accept), GraphQL over HTTP (media types), GraphQL over SSE (distinct connections mode).
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from schema.negotiating import EVENTS, GRAPHQL_JSON, PARTS, PLAIN_JSON, json_for, ranges_of, stream_for
from tests.running import Running

HERE = Path(__file__).parent

# As read in the sources of the clients named, at the versions in tests/npm/package.json; gql's in its 4.x.
URQL = (
    "application/graphql-response+json, application/graphql+json, application/json, text/event-stream, "
    "multipart/mixed"
)
APOLLO = "application/graphql-response+json,application/json;q=0.9"
APOLLO_LISTENS = f"multipart/mixed;boundary=graphql;subscriptionSpec=1.0,{APOLLO}"
SSE = "text/event-stream"
GQL = "application/graphql-response+json, application/json;q=0.9"
CURL = "*/*"
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"


@pytest.mark.parametrize(
    ("accept", "query", "subscription"),
    [
        (URQL, GRAPHQL_JSON, EVENTS),
        (APOLLO, GRAPHQL_JSON, None),
        (APOLLO_LISTENS, GRAPHQL_JSON, PARTS),
        (SSE, None, EVENTS),
        (GQL, GRAPHQL_JSON, None),
        (CURL, PLAIN_JSON, EVENTS),
        (BROWSER, PLAIN_JSON, EVENTS),
        (None, PLAIN_JSON, EVENTS),
        ("", PLAIN_JSON, EVENTS),
        ("application/json", PLAIN_JSON, None),
        ("application/json;q=0.5, application/graphql-response+json;q=0.4", PLAIN_JSON, None),
        ("application/json;q=0.5, */*", GRAPHQL_JSON, EVENTS),
        ("application/*;q=0.2, text/event-stream;q=0", PLAIN_JSON, None),
        ("text/event-stream;q=0.4, multipart/mixed;subscriptionSpec=1.0;q=0.6", None, PARTS),
        ("multipart/mixed, application/json", PLAIN_JSON, None),
        ("text/event-stream;q=NaN, application/json", PLAIN_JSON, None),
        ("text/html", None, None),
    ],
)
def test_the_type_follows_the_weights(accept, query, subscription):
    ranges = ranges_of(accept)
    assert (json_for(ranges), stream_for(ranges)) == (query, subscription)


@pytest.mark.parametrize(
    ("accept", "answered"),
    [(URQL, GRAPHQL_JSON), (APOLLO, GRAPHQL_JSON), (GQL, GRAPHQL_JSON), (CURL, PLAIN_JSON), (SSE, EVENTS)],
)
def test_a_mutation_is_answered_as_one(running: Running, accept, answered):
    """A stream where JSON was taken told urql 'No Content', although the mutation had happened."""
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    change = f'mutation {{ amendOrder(orderId: "{placed["order"]["id"]}", expectedRevision: 999, order: {{}})'
    answer = client.post("/graphql", json={"query": change + " { __typename } }"}, headers={"Accept": accept})
    assert answer.status_code == 200 and answer.headers["content-type"].startswith(answered)
    assert '"__typename":"Stale"' in answer.text.replace(": ", ":")


def test_what_nobody_here_speaks_is_refused(running: Running):
    headers = {"Accept": "text/html"}
    answer = running.caller().post("/graphql", json={"query": "{ __typename }"}, headers=headers)
    assert answer.status_code == 406 and "text/event-stream" in answer.json()["errors"][0]["message"]
    query = {"query": 'subscription { orderChanged(orderId: "x") { number } }'}
    headers = {"Accept": "application/json"}
    answer = running.caller().post("/graphql", json=query, headers=headers)
    assert answer.status_code == 406 and "text/event-stream" in answer.json()["errors"][0]["message"]


@pytest.mark.skipif(shutil.which("node") is None, reason="the clients are written for node")
def test_the_usual_clients_work_as_they_come(running: Running):
    """urql, Apollo, GraphQL over SSE and graphql-transport-ws, at the versions in tests/npm/package.json."""
    placed = running.caller().send_order()
    command = ["node", str(HERE / "clients.mjs"), f"{running.url}/graphql", placed["link_token"]]
    done = subprocess.run(
        [*command, placed["order"]["id"]], capture_output=True, text=True, check=True, timeout=60
    )
    given, number = json.loads(done.stdout), placed["order"]["number"]
    wanted = {"query": number, "mutation": "Stale", "subscription": number}
    single = given.pop("graphql-sse single")
    assert given == {
        f"{client} {kind}": was
        for client in ("urql", "apollo", "graphql-sse", "graphql-ws")
        for kind, was in wanted.items()
    }
    # its other mode keeps a stream in one process, and there may be several: it is refused, in words
    assert "405" in single or "Method Not Allowed" in single
