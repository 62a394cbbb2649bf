"""Requests made up from the OpenAPI document: every answer is one that the document allows (schemathesis)."""

from __future__ import annotations

import pytest
import schemathesis

from service.rest.openapi import document
from tests.fuzzing import config, make_up, operations_of
from tests.running import API, FROM_HERE, Running

pytestmark = [
    pytest.mark.filterwarnings("ignore::hypothesis.errors.HypothesisDeprecationWarning"),
]

EXAMPLES = 4
# Event streams do not end by themselves; signing out would end the session of the other cases.
LEFT_OUT = {"GET /orders/{order}/events", "GET /events/stream", "DELETE /session"}
OPERATIONS = operations_of(schemathesis.openapi.from_dict(document(), config=config()))
LABELS = sorted(OPERATIONS.keys() - LEFT_OUT)


@pytest.fixture(scope="session")
def signed_in(running: Running) -> dict[str, str]:
    cookies = "; ".join(f"{name}={value}" for name, value in running.maker().cookies.items())
    return FROM_HERE | {"Cookie": cookies}


@pytest.mark.parametrize("label", LABELS)
def test_a_maker_is_answered_as_documented(label, running: Running, signed_in):
    def call(case):
        headers = signed_in | dict(case.headers or {})
        case.call_and_validate(base_url=running.url + API, headers=headers)

    make_up(OPERATIONS[label], EXAMPLES, call)


@pytest.mark.parametrize("label", LABELS)
def test_nobody_is_answered_as_documented(label, running: Running):
    make_up(OPERATIONS[label], 1, lambda case: case.call_and_validate(base_url=running.url + API))
