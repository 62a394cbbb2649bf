"""What a call means, for idempotency keys: the same at both doors, however it was written."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from pydantic_core import to_json

from service.rest.operation import Received
from service.rest.requests.base import Ask, Change


def meaning_of(operation: str, path: Mapping[str, str], asked: Ask | Received | bytes | None) -> str:
    """SHA-256 of what is asked: spaces, the order of names, and usual values that are said make no other call.

    Args:
        operation: its name.
        path: parts of the address.
        asked: the body as its model, or the file.
    """
    told: dict[str, Any] = {"does": operation, "to": sorted(path.items())}
    if isinstance(asked, Received):
        fields = {
            name: sorted(part for value in values for part in value.split(","))
            for name, values in asked.fields.items()
        }
        digest = hashlib.sha256(asked.data).hexdigest()
        told |= {"file": [digest, asked.name, asked.content_type], "fields": sorted(fields.items())}
    elif isinstance(asked, Ask):
        told["asked"] = _sorted(asked.model_dump(mode="json", exclude_unset=isinstance(asked, Change)))
    elif asked is not None:
        told["sent"] = hashlib.sha256(asked).hexdigest()
    return hashlib.sha256(to_json(told)).hexdigest()


def _sorted(value: Any) -> Any:
    if isinstance(value, dict):
        return [[name, _sorted(value[name])] for name in sorted(value)]
    return [_sorted(each) for each in value] if isinstance(value, list) else value
