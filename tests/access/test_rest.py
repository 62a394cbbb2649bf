"""Every route × every member of the cast, against the table in ``rest.txt``; a route without a row fails.

``yes``: let through (done, or refused for another reason than who asks); ``no``: seen but not allowed (403);
``hidden``: as if it were not there (404); ``who?``: nobody is known (401); ``due``: signed in, without the second
step that their workshop asks of everybody.
"""

from __future__ import annotations

from pathlib import Path

import httpx2
import pytest

from service.rest.operation import Operation
from service.rest.table import OPERATIONS
from tests.access.calls import body_of, path_of
from tests.access.cast import MEMBERS, Cast
from tests.running import API

WORDS = {401: "who?", 403: "no", 404: "hidden"}
# Their refusal says that a secret or password is wrong, whoever asks.
ABOUT_SECRETS = {"signIn", "openLink", "whosePassword", "choosePassword"}


def read_table(name: str) -> dict[str, dict[str, str]]:
    lines = (Path(__file__).parent / name).read_text().splitlines()
    head, *rows = (line.split() for line in lines if line and not line.startswith("#"))
    return {row[0]: dict(zip(head[1:], row[1:], strict=True)) for row in rows}


TABLE = read_table("rest.txt")


def answered(operation: Operation, cast: Cast, member: str) -> str:
    caller = cast.callers[member]
    if operation.name == "signOut":  # it would end the session of the other calls
        caller = cast.callers["stranger"]
    if (operation.name, member) == ("eraseClient", "client"):  # which is about the order at the bench
        caller = cast.bench_client
    path, body = path_of(operation, cast.things, member), body_of(operation, cast.things, member)
    answer = caller.request(operation.method, path, **body)
    assert answer.status_code < 500, answer.text
    if answer.status_code in (403, 404) and operation.name in ABOUT_SECRETS:
        return "yes"
    return word_of(answer)


def word_of(answer: httpx2.Response) -> str:
    if answer.status_code == 403 and answer.json()["type"] == "/problems/second-step-due":
        return "due"
    return WORDS.get(answer.status_code, "yes")


def events_answered(cast: Cast, member: str) -> str:
    path = f"{API}/orders/{cast.things.order['id']}/events"
    with cast.callers[member].stream("GET", path) as answer:
        answer.read() if answer.status_code >= 400 else None
        return word_of(answer)


def test_every_route_has_a_row_and_every_row_a_route():
    assert set(TABLE) == {op.name for op in OPERATIONS} | {"getOrderEvents"}
    assert all(set(row) == set(MEMBERS) for row in TABLE.values())


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda op: op.name)
def test_the_cast_is_answered_as_the_table_says(operation, cast: Cast):
    found = {member: answered(operation, cast, member) for member in MEMBERS}
    assert found == TABLE[operation.name]


@pytest.mark.parametrize("member", MEMBERS)
def test_events_are_given_as_the_table_says(member, cast: Cast):
    assert events_answered(cast, member) == TABLE["getOrderEvents"][member]


def test_denied_looks_the_same_as_missing(cast: Cast):
    """Status, headers and words are those of an id that never was."""
    other = cast.callers["other-client"]
    for thing in (f"/orders/{cast.things.order['id']}", f"/carvings/{cast.things.carving['id']}"):
        there, missing = other.get(API + thing), other.get(API + thing.rsplit("/", 1)[0] + "/" + "b" * 26)
        assert there.json() == missing.json()
        assert set(there.headers) == set(missing.headers)


def test_foreign_things_stay_as_they_are(cast: Cast):
    """After all those calls the order is what it was."""
    assert cast.callers["maker"].order(cast.things.order["id"]) == cast.things.order
