"""What a client's form sends on: whom to reach, and a file."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from service.pages.calling import Api
from service.pages.forms import Sent, SentFile
from service.rest.operation import Received
from service.rest.receiving import LONGEST_NAME

Json = Mapping[str, Any]


def contact_of(sent: Sent) -> dict[str, str]:
    """Whom to reach, as the API takes it."""
    return {name: sent.text(name)[:254] for name in ("name", "email", "phone", "organisation")}


def received(file: SentFile, fields: Mapping[str, tuple[str, ...]] = MappingProxyType({})) -> Received:
    """A form's file as operations take it."""
    kind = file.content_type.partition(";")[0].strip().lower() or "application/octet-stream"
    return Received(file.data, file.name[:LONGEST_NAME], kind, fields)


async def upload(api: Api, order_id: str, file: SentFile, carvings: list[str], once: str = "") -> Json:
    """Hand a file on. CallError."""
    fields = {"carvings": (",".join(carvings),)} if carvings else {}
    sent = received(file, fields)
    reply = await api.send("POST", f"/orders/{order_id}/artworks", file=sent, once=once or None)
    body: Json = reply.json
    return body
