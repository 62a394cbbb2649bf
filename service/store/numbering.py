"""Numbers that a workshop counts in one row of its own, each taken in the transaction that uses it."""

from __future__ import annotations

from functools import cache
from typing import Any, Literal

from sqlalchemy import Connection, bindparam, update

from service.store.tables import counters


def take_numbers(
    connection: Connection, what: Literal["orders", "events"], workshop_id: str, many: int = 1
) -> range:
    """The next numbers. Whoever else counts in the workshop waits from here until this transaction ends."""
    asked = {"workshop": workshop_id, "many": many}
    last: int = connection.execute(_taking(what), asked).scalar_one()
    return range(last - many + 1, last + 1)


@cache
def _taking(what: str) -> Any:
    """Asked with every order and every event, so built once."""
    counted = counters.c[what]
    return (
        update(counters)
        .where(counters.c.workshop_id == bindparam("workshop"))
        .values({what: counted + bindparam("many")})
        .returning(counted)
    )
