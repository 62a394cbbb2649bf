"""What a client's form sends on: whom to reach, and a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from service.pages.calling import Api
from service.pages.forms import Sent, SentFile

Json = Mapping[str, Any]


def contact_of(sent: Sent) -> dict[str, str]:
    """Whom to reach, as the API takes it."""
    return {name: sent.text(name)[:254] for name in ("name", "email", "phone", "organisation")}


async def upload(api: Api, order_id: str, file: SentFile, carvings: list[str], once: str = "") -> Json:
    """Hand a file on. Raises Refused."""
    headers = {
        "Content-Type": file.content_type,
        "Content-Disposition": f"attachment; filename*=UTF-8''{quote(file.name, safe='')}",
    }
    reply = await api.send(
        "POST",
        f"/orders/{order_id}/artworks",
        content=file.data,
        headers=headers,
        query={"carvings": ",".join(carvings)} if carvings else None,
        once=once or None,
    )
    body: Json = reply.json
    return body
