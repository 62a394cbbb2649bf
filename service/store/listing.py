"""Lists of orders by keyset: the cost of a page does not grow with the number of orders.

A filter on words, carvings' states or verdicts may match few orders or nearly all, and no index serves both.
So all filters are first asked together which of them match fewer than :data:`FEW`. Where one does, its orders are
looked up; otherwise the list is walked in its own order and each order asked whether it matches, which soon fills a
page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Connection,
    Integer,
    ScalarSelect,
    Select,
    Table,
    and_,
    bindparam,
    exists,
    func,
    literal,
    select,
    tuple_,
    union_all,
)

from service.orders.order import Order
from service.orders.states import OrderState
from service.store.counting import count_up
from service.store.prepared import Prepared
from service.store.rows import NO_DATE, ORDERS
from service.store.tables import carvings, order_counts, order_words, orders
from service.store.tenant_scope import TenantScope

FEW = 1000
_LAST_LETTER = "\U0010ffff"


@dataclass(frozen=True)
class Wanted:
    """Which orders; see ``usecases.commands.OrderFilter``. ``words`` are cut into words already."""

    states: tuple[str, ...] = ()
    carving_states: tuple[str, ...] = ()
    verdicts: tuple[str, ...] = ()
    needed_from: date | None = None
    needed_until: date | None = None
    words: tuple[str, ...] = ()
    by_due: bool = False
    number: int | None = None
    site_order_number: str = ""
    email: str = ""
    updated_since: datetime | None = None
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True)
class Key:
    """Where a page ended: the last order's number, and the day it is due where the list goes by that."""

    number: int
    due: date = NO_DATE


def key_of(order: Order) -> Key:
    """The key of an order, to go on after it."""
    return Key(order.number, order.needed_by or NO_DATE)


_KEY_FIELDS = frozenset({"number", "needed_by"})


def page_of_orders(  # noqa: PLR0917 - who, which, and from where to where
    connection: Connection,
    reach: TenantScope,
    wanted: Wanted,
    after: Key | None,
    limit: int,
    only: frozenset[str] | None = None,
) -> list[Order]:
    """At most ``limit`` orders after ``after``; newest first, or earliest due first.

    ``only`` these fields of them, and what :func:`key_of` looks at, where they can be read alone.
    """
    some = None if only is None else ORDERS.some(only | _KEY_FIELDS)
    columns = tuple(orders.c[name] for name in some.columns) if some else tuple(orders.c)
    if reach.order_id is None and wanted == Wanted(wanted.states, by_due=wanted.by_due, kinds=wanted.kinds):
        page = _plain_page(columns, wanted, beyond=after is not None, named=some is None)
        key = {} if after is None else {"number": after.number, "due": after.due}
        given = {"workshop": reach.workshop_id, "limit": limit, **key}
        return (some or ORDERS).values(page.rows(connection, given))
    conditions = list(_plain_conditions(wanted))
    if after is not None:
        conditions.append(_beyond(literal(after.due), literal(after.number), by_due=wanted.by_due))
    deciding = _decide(connection, tuple(_filters(reach, wanted)))
    if reach.order_id is not None or any(found.few for found in deciding):
        # Found by id: no index on state or due day is wanted, see Reach.within.
        conditions += [*reach.within(orders), *(found.condition for found in deciding)]
        query = _found(columns, conditions, wanted, limit)
    else:
        conditions += [orders.c.workshop_id == reach.workshop_id, *(found.condition for found in deciding)]
        query = _walked(columns, conditions, wanted, limit)
    return (some or ORDERS).values(connection.execute(query))


@lru_cache(maxsize=256)
def _plain_page(
    columns: tuple[ColumnElement[Any], ...], wanted: Wanted, *, beyond: bool, named: bool
) -> Prepared:
    """A page that is asked for by states and kinds alone, as most are; prepared for each way of asking."""
    conditions = [orders.c.workshop_id == bindparam("workshop"), *_plain_conditions(wanted)]
    if beyond:
        due, number = (
            bindparam("due", type_=orders.c.due.type),
            bindparam("number", type_=orders.c.number.type),
        )
        conditions.append(_beyond(due, number, by_due=wanted.by_due))
    return Prepared(_walked(columns, conditions, wanted, bindparam("limit", type_=Integer)), named=named)


def count_orders(connection: Connection, reach: TenantScope, wanted: Wanted) -> int:
    """How many orders match, at most :data:`~service.store.counting.COUNTED`."""
    conditions = [*_plain_conditions(wanted), *reach.within(orders)]
    conditions += [found.condition for found in _decide(connection, tuple(_filters(reach, wanted)))]
    if wanted.states:
        conditions.append(orders.c.state.in_(wanted.states))
    matching = select(orders.c.id).where(orders.c.workshop_id == reach.workshop_id, *conditions)
    return count_up(connection, matching)


def counts_by_state(connection: Connection, workshop_id: str) -> dict[str, int]:
    """How many orders the workshop has in each state."""
    query = select(order_counts.c.state, order_counts.c.number)
    found: dict[str, int] = dict(
        iter(connection.execute(query.where(order_counts.c.workshop_id == workshop_id)))
    )
    return {state.value: found.get(state.value, 0) for state in OrderState}


def _found(
    columns: Sequence[ColumnElement[Any] | Table],
    conditions: Sequence[ColumnElement[bool]],
    wanted: Wanted,
    limit: int,
) -> Select[tuple[object, ...]]:
    states = [orders.c.state.concat("").in_(wanted.states)] if wanted.states else []
    return select(*columns).where(*conditions, *states).order_by(*_order(wanted)).limit(limit)


def _walked(
    columns: Sequence[ColumnElement[Any] | Table],
    conditions: Sequence[ColumnElement[bool]],
    wanted: Wanted,
    limit: int | BindParameter[int],
) -> Select[tuple[object, ...]]:
    """Each state has its own run of the index: take a page's worth of each, then the first of all."""
    order = _order(wanted)
    if len(wanted.states) <= 1:
        alone = [orders.c.state == state for state in wanted.states]
        return select(*columns).where(*conditions, *alone).order_by(*order).limit(limit)
    runs = []
    for state in wanted.states:
        run = select(orders.c.id).where(*conditions, orders.c.state == state).order_by(*order).limit(limit)
        runs.append(select(run.subquery().c.id))
    return select(*columns).where(orders.c.id.in_(union_all(*runs))).order_by(*order).limit(limit)


def _order(wanted: Wanted) -> tuple[ColumnElement[Any], ...]:
    return (orders.c.due, orders.c.number) if wanted.by_due else (orders.c.number.desc(),)


def _plain_conditions(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    if wanted.needed_from is not None:
        yield orders.c.due >= wanted.needed_from
    if wanted.needed_until is not None:
        yield orders.c.due <= wanted.needed_until
    if wanted.kinds:
        yield orders.c.kind == wanted.kinds[0] if len(wanted.kinds) == 1 else orders.c.kind.in_(wanted.kinds)
    if wanted.number is not None:
        yield orders.c.number == wanted.number
    if wanted.site_order_number:
        yield orders.c.site_order_number == wanted.site_order_number
    if wanted.email:
        yield func.lower(orders.c.contact_email) == wanted.email.lower()


def _beyond(due: ColumnElement[date], number: ColumnElement[int], *, by_due: bool) -> ColumnElement[bool]:
    if by_due:
        return tuple_(orders.c.due, orders.c.number) > tuple_(due, number)
    return orders.c.number < number


@dataclass(frozen=True)
class _Filter:
    """One filter two ways: ids of the orders that match, or whether one order does."""

    matching: Select[tuple[str]]
    matches: ColumnElement[bool]


@dataclass(frozen=True)
class _Decided:
    """How a filter is to be asked: ``few`` orders are looked up, many are asked one by one."""

    few: bool
    condition: ColumnElement[bool]


def _decide(connection: Connection, filters: Sequence[_Filter]) -> list[_Decided]:
    if not filters:
        return []
    counts = connection.execute(select(*(_count_up_to_few(each.matching) for each in filters))).one()
    return [
        _Decided(True, orders.c.id.in_(each.matching)) if count < FEW else _Decided(False, each.matches)
        for each, count in zip(filters, counts, strict=True)
    ]


def _count_up_to_few(matching: Select[tuple[str]]) -> ScalarSelect[int]:
    return select(func.count()).select_from(matching.limit(FEW).subquery()).scalar_subquery()


def _filters(reach: TenantScope, wanted: Wanted) -> Iterator[_Filter]:
    if wanted.updated_since is not None:
        since = orders.c.updated_at >= wanted.updated_since
        of_ours = orders.alias()
        later = (of_ours.c.workshop_id == reach.workshop_id, of_ours.c.updated_at >= wanted.updated_since)
        yield _Filter(select(of_ours.c.id).where(*later), since)
    for column, values in ((carvings.c.state, wanted.carving_states), (carvings.c.verdict, wanted.verdicts)):
        if values:
            among = column.in_(values)
            yield _Filter(
                select(carvings.c.order_id).where(carvings.c.workshop_id == reach.workshop_id, among),
                exists().where(carvings.c.order_id == orders.c.id, among),
            )
    for word in wanted.words:
        begins = and_(order_words.c.word >= word, order_words.c.word < word + _LAST_LETTER)
        yield _Filter(
            select(order_words.c.order_id).where(order_words.c.workshop_id == reach.workshop_id, begins),
            exists().where(order_words.c.order_id == orders.c.id, begins),
        )
