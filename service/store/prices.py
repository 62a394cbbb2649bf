"""Queries about price lists and quotes."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, bindparam, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from service.orders.price_list import PriceList, price_list_from
from service.orders.quote import Quote, SignedQuote, quote_from
from service.store.prepared import Prepared
from service.store.price_tables import price_lists, quotes
from service.store.sharing import asked_once
from service.store.tenant_scope import TenantScope


@asked_once
def current_prices(connection: Connection, workshop_id: str) -> PriceList | None:
    """The workshop's newest price list, ``None`` where it has none."""
    found = all_prices(connection, workshop_id, most=1)
    return found[0][0] if found else None


_VERSION = Prepared(
    select(func.max(price_lists.c.version).label("version")).where(
        price_lists.c.workshop_id == bindparam("workshop")
    )
)


def current_version(connection: Connection, workshop_id: str) -> int | None:
    """The version of the workshop's newest price list, ``None`` where it has none."""
    version: int | None = _VERSION.scalar(connection, {"workshop": workshop_id})
    return version


def all_prices(connection: Connection, workshop_id: str, most: int) -> list[tuple[PriceList, datetime]]:
    """The workshop's price lists and when each was made, newest first."""
    query = select(price_lists).where(price_lists.c.workshop_id == workshop_id)
    rows = connection.execute(query.order_by(price_lists.c.version.desc()).limit(most))
    return [(price_list_from(row.facts), row.made_at) for row in rows]


@asked_once
def find_prices(connection: Connection, workshop_id: str, version: int) -> PriceList | None:
    """One version of the workshop's price list."""
    query = select(price_lists.c.facts).where(
        price_lists.c.workshop_id == workshop_id, price_lists.c.version == version
    )
    facts = connection.execute(query).scalar_one_or_none()
    return None if facts is None else price_list_from(facts)


def insert_prices(connection: Connection, workshop_id: str, prices: PriceList, now: datetime) -> None:
    """Store a new version."""
    connection.execute(
        insert(price_lists).values(
            workshop_id=workshop_id, version=prices.version, facts=prices.facts, made_at=now
        )
    )


def keep_quote(connection: Connection, reach: TenantScope, quote: Quote, now: datetime) -> None:
    """Keep a quote that is shown for an order, once; ``reach`` names the order."""
    write = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
    kept = write(quotes).values(
        order_id=reach.order_id,
        digest=quote.digest,
        workshop_id=reach.workshop_id,
        facts=quote.facts,
        shown_at=now,
    )
    connection.execute(kept.on_conflict_do_nothing(index_elements=["order_id", "digest"]))


def sign_quote(connection: Connection, reach: TenantScope, quote: Quote, now: datetime) -> None:
    """The client has signed it: it is the order's agreed price from now on."""
    keep_quote(connection, reach, quote, now)
    this = (quotes.c.order_id == reach.order_id) & (quotes.c.digest == quote.digest)
    connection.execute(update(quotes).where(this).values(signed_at=now))


def find_quote(connection: Connection, reach: TenantScope, digest: str) -> Quote | None:
    """A quote the order was shown, by its digest."""
    query = select(quotes.c.facts).where(*reach.within(quotes), quotes.c.digest == digest)
    facts = connection.execute(query).scalar_one_or_none()
    return None if facts is None else quote_from(facts)


@asked_once
def quotes_of(connection: Connection, reach: TenantScope) -> list[tuple[Quote, datetime, datetime | None]]:
    """The quotes that an order was shown, when each was first and when it was last signed; newest first."""
    query = select(quotes).where(*reach.within(quotes)).order_by(quotes.c.shown_at.desc())
    return [(quote_from(row.facts), row.shown_at, row.signed_at) for row in connection.execute(query)]


def shown_quotes(connection: Connection, reach: TenantScope) -> list[tuple[Quote, datetime]]:
    """The quotes that an order was shown and when each was first, newest first."""
    return [(quoted, shown_at) for quoted, shown_at, _ in quotes_of(connection, reach)]


def signed_quote(
    connection: Connection, reach: TenantScope, until: datetime | None = None
) -> SignedQuote | None:
    """The quote the order's client signed last, not after ``until``; ``None`` for none."""
    signed = [
        SignedQuote(quoted, at)
        for quoted, _, at in quotes_of(connection, reach)
        if at is not None and (until is None or at <= until)
    ]
    return max(signed, key=lambda each: each.signed_at, default=None)
