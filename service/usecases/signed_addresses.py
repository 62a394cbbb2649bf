"""Addresses of an order's pictures and drawings that open for a while without credentials."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from service.access import signed_addresses
from service.orders.actors import Actor, Client
from service.orders.errors import FieldError, InvalidError, NotFoundError
from service.store import orders, shop
from service.usecases.context import Context
from service.usecases.guard import reach_of

API = "/api/v1/"
LONGEST_SECONDS = 3600


@dataclass(frozen=True)
class SignedAddress:
    """One address that opens by itself.

    Attributes:
        url: of this service, with its signature.
        until: when it closes.
    """

    url: str
    until: datetime


def sign_addresses(
    ctx: Context, actor: Actor, order_id: str, urls: tuple[str, ...], seconds: int = 600
) -> tuple[SignedAddress, ...]:
    """Each of these addresses with a signature, good for so many seconds, as the order's client would see it.

    NotFoundError, NotAllowedError, InvalidError (an address that is not of this API). That it is one of a file of this
    order is looked at when it is opened.
    """
    reach = reach_of(actor)
    for place, url in enumerate(urls):
        if not url.startswith(API) or f"{signed_addresses.PARAMETER}=" in url:
            words = f"Give the address as the API gave it: it begins with {API}."
            raise InvalidError(FieldError(f"urls.{place}", "not-ours", words))
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        key = signed_addresses.key_of(shop.signing_key(connection, order.workshop_id))
    until = (ctx.clock.now() + timedelta(seconds=seconds)).replace(microsecond=0)
    return tuple(SignedAddress(signed_addresses.sign(key, url, order_id, until), until) for url in urls)


def opened_by(ctx: Context, address: str, signed: str) -> Actor | None:
    """The client that a signed address stands for; ``None`` where it was not signed so, or is over.

    Args:
        address: path and query as they came, the signature included.
        signed: the signature.
    """
    said = signed_addresses.read(signed)
    if said is None or not address.endswith(f"{signed_addresses.PARAMETER}={signed}"):
        return None
    with ctx.store.reading() as connection:
        workshop_id = orders.workshop_of(connection, said.order_id)
        if workshop_id is None:
            return None
        key = signed_addresses.key_of(shop.signing_key(connection, workshop_id))
    good = signed_addresses.holds(key, signed_addresses.bare(address), said, ctx.clock.now())
    return Client(workshop_id, said.order_id, link_id="signed address") if good else None
