"""The table of operations, the document made from it, and the catalogue of problems."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest
from openapi_spec_validator import validate

from service.orders import errors
from service.rest import problems
from service.rest.openapi import document
from service.rest.table import OPERATIONS

ROOT = Path(__file__).parents[3]


def conflict_codes() -> set[str]:
    """Every code that any ``Conflict("…")`` of the service is raised with."""
    found: set[str] = set()
    for path in (ROOT / "service").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "id", None) == "ConflictError" and node.args:
                code = node.args[0]
                if isinstance(code, ast.Constant):  # the others hand on a refusal of the engine
                    found.add(code.value)
    return found


def test_the_document_is_openapi_3_1():
    validate(document())
    assert document()["openapi"].startswith("3.1")


def test_names_and_addresses_are_used_once():
    names = [op.name for op in OPERATIONS]
    assert len(set(names)) == len(names)
    places = [(op.method, op.path) for op in OPERATIONS]
    assert len(set(places)) == len(places)


def test_every_conflict_has_an_entry_in_the_catalogue():
    assert conflict_codes() <= set(problems.KINDS)


def test_every_conflict_of_the_catalogue_is_raised_somewhere():
    raised = conflict_codes()
    listed = {code for code, kind in problems.KINDS.items() if kind.status == 409}
    assert listed - raised == {"refused", "other-offset"}  # the second is tus's own, answered at the door


def test_what_the_engine_refuses_keeps_its_code():
    body = json.loads(problems.refused(errors.ConflictError("no-room", "It does not fit.")).body)
    assert (body["type"], body["code"], body["status"]) == ("/problems/refused", "no-room", 409)


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda op: op.name)
def test_an_operation_says_what_it_does(operation):
    assert re.fullmatch(r"[A-Z].*\.", operation.does)
    assert set(operation.problems) <= set(problems.KINDS)
    if operation.method in ("PUT", "PATCH"):
        assert operation.conditional or operation.name in {"changePerson", "setPayment"}


def test_each_error_of_the_use_cases_has_an_answer():
    samples = [
        errors.NotFoundError("order"),
        errors.NotAllowedError("Only a maker may."),
        errors.InvalidError(errors.FieldError("a.b", "bad", "No.")),
        errors.StaleError(3),
        errors.ConflictError("not-current", "Look again."),
        errors.TooManyError(2.5),
    ]
    assert [problems.refused(e).status_code for e in samples] == [404, 403, 422, 412, 409, 429]
    assert {type(e) for e in samples} == set(errors.DomainError.__subclasses__())
