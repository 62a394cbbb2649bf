"""Requests made up from a contract by schemathesis, one operation at a time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings

# What a made-up but well-formed request may meet: the ids in it name nothing, its revision is old.
ALLOWED = ["2xx", "3xx", 401, 403, 404, 409, 412, 422, 429]
CONFIG = {"checks": {"positive_data_acceptance": {"expected-statuses": ALLOWED}}}

schemathesis.serializer.alias("application/offset+octet-stream", "application/octet-stream")


def operations_of(schema: Any) -> dict[str, Any]:
    """Every operation of a contract by its label."""
    return {op.ok().label: op.ok() for op in schema.get_all_operations()}


def config() -> Any:
    """How strict schemathesis is."""
    return schemathesis.Config.from_dict(CONFIG)


def make_up(operation: Any, examples: int, call: Callable[[Any], None]) -> None:
    """Call with so many made-up requests, the same ones every run."""

    @settings(
        max_examples=examples,
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def each(case: Any) -> None:
        call(case)

    each()
