"""What happens, told to other programs: events, and webhooks by the Standard Webhooks specification 1.0.0.

No input or output here: what an event says, how a message is signed, when it is tried again (docs/sources.md).
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import ipaddress
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Annotated, Any
from urllib.parse import urlsplit

from pydantic import Field
from pydantic_core import to_json

from service.orders.order import Id

SECRET_PREFIX = "whsec_"  # noqa: S105 - how the specification writes secrets
SECRET_BYTES = 24
"""The specification takes 24 to 64."""
OVERLAP = timedelta(hours=24)
"""For so long messages are signed by the secret before as well."""
DELAYS = (
    timedelta(),
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)
"""Before each try, as the specification proposes: three days in all."""
MOST_WEBHOOKS = 20
LONGEST_URL = 500
GONE = 410
"""Of a receiver that wants nothing more: the webhook is switched off (the specification, 'Delivery')."""


class DeliveryState(StrEnum):
    """How far one message is."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    DEAD = "dead"


@dataclass(frozen=True)
class Event:
    """Something that happened in a workshop; it names nobody.

    Attributes:
        number: counted per workshop from 1, without gaps; the cursor of the stream of events.
        kind: `order.` or `carving.` and the step of the table of states (`order.submit`, `carving.prove`);
            `order.place` for a new order, `order.change` for whatever else within one has changed.
        order_id: the order it is about.
        at: when, UTC.
        data: the order's `state`, `activity` and `number`; of a carving its `carving_id` and `carving_state`.
    """

    number: int
    kind: str
    order_id: Id
    at: datetime
    data: Mapping[str, Any]


@dataclass(frozen=True)
class Webhook:
    """Where a workshop's events are sent.

    Attributes:
        id: names it.
        workshop_id: whose it is.
        url: where messages are posted, `https:`.
        kinds: kinds of events that are sent, or their beginnings up to a dot (`order`); none: all of them.
        enabled: whether messages are sent.
        because: why it was switched off; empty while it is on.
        secret: signs messages, as the specification writes it; shown only when it is made.
        earlier_secret: the one before, which signs as well until `earlier_until`.
        earlier_until: until when, UTC; null where there is none.
        seen: number of the last event that was looked at for it.
        created_at: when it was made, UTC.
    """

    id: Id
    workshop_id: Id
    url: str
    kinds: tuple[str, ...]
    enabled: bool
    because: str
    secret: str
    earlier_secret: str
    earlier_until: datetime | None
    seen: int
    created_at: datetime

    def wants(self, kind: str) -> bool:
        """Whether an event of a kind is sent."""
        return not self.kinds or any(kind == each or kind.startswith(f"{each}.") for each in self.kinds)


@dataclass(frozen=True)
class Delivery:
    """One message to one webhook.

    Attributes:
        id: of the message (`webhook-id`): the same at every try, and when it is sent again.
        webhook_id: to which webhook.
        event: number of the event.
        kind: of the event.
        state: how far it is; `dead` after the last try.
        attempts: how often it was tried.
        due_at: when it is tried next, UTC; null where it is not.
        status: HTTP status of the last answer; null for none.
        trouble: what went wrong at the last try; empty for nothing.
        created_at: when it was written, UTC.
        delivered_at: when it was taken, UTC; null for not.
    """

    id: Id
    webhook_id: Id
    event: int
    kind: str
    state: DeliveryState
    attempts: int
    due_at: datetime | None
    status: int | None
    trouble: str
    created_at: datetime
    delivered_at: datetime | None
    body: Annotated[str, Field(description="what is sent, JSON")]


def new_secret() -> str:
    """A secret of a webhook."""
    return SECRET_PREFIX + base64.b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def signature(secret: str, message_id: str, timestamp: int, body: str) -> str:
    """One signature of a message: HMAC-SHA256 over its id, time and body (Standard Webhooks 1.0.0)."""
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX))
    signed = f"{message_id}.{timestamp}.{body}".encode()
    return "v1," + base64.b64encode(hmac.digest(key, signed, hashlib.sha256)).decode()


def headers_of(webhook: Webhook, message_id: str, body: str, now: datetime) -> dict[str, str]:
    """The headers of a message; signed by both secrets while they overlap."""
    stamp = int(now.timestamp())
    known = [webhook.secret]
    if webhook.earlier_until is not None and now < webhook.earlier_until:
        known.append(webhook.earlier_secret)
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(stamp),
        "webhook-signature": " ".join(signature(each, message_id, stamp, body) for each in known),
    }


def body_of(event: Event) -> str:
    """What is sent of an event (Standard Webhooks 1.0.0, 'Payload structure'); below 20 kB."""
    data = {"event": event.number, "order_id": event.order_id, **event.data}
    return to_json({"type": event.kind, "timestamp": event.at, "data": data}).decode()


def next_try(attempts: int, now: datetime) -> datetime | None:
    """When a message is tried again after so many tries; ``None``: never."""
    return now + DELAYS[attempts] if attempts < len(DELAYS) else None


def url_problem(url: str, *, anywhere: bool) -> str:
    """What is wrong with an address before anybody looks it up; empty for nothing.

    Args:
        anywhere: addresses of this machine and its network are taken, and ``http:``.
    """
    parts = urlsplit(url)
    if len(url) > LONGEST_URL or not parts.hostname or parts.username or parts.password or parts.fragment:
        return f"Give an address like https://shop.example/hooks, at most {LONGEST_URL} characters, without a name."
    if parts.scheme not in (("https", "http") if anywhere else ("https",)):
        return (
            "Give an address that begins with https:// so that nobody on the way can read or change messages."
        )
    if not anywhere and _is_within(parts.hostname):
        return f"{parts.hostname} is an address within a network; messages go to public ones only."
    return ""


def _is_within(host: str) -> bool:
    """Whether a host is no public address, as it stands; what a name leads to is seen when it is looked up."""
    try:
        return not is_public(host)
    except ValueError:  # a name
        return host.rstrip(".").rpartition(".")[2] == "localhost"  # RFC 6761 §6.3


def is_public(address: str) -> bool:
    """Whether an address is one of the public internet, of no special use (IANA registries by ``ipaddress``).

    ValueError where it is no address.
    """
    known = ipaddress.ip_address(address.partition("%")[0])
    inner = getattr(known, "ipv4_mapped", None) or getattr(known, "sixtofour", None)
    if inner is not None:
        known = inner
    return known.is_global and not known.is_multicast


def kinds_of(kinds: Iterable[str]) -> tuple[str, ...]:
    """Each kind once, in order."""
    return tuple(dict.fromkeys(kinds))
