"""How far somebody sees: one workshop, and within it one order or all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import BindParameter, ColumnElement, Table, bindparam, column, select, table

from service.orders.site import OrderKind

Given = str | BindParameter[Any]
"""A value, or where a prepared statement is given one."""
_ORDERS = table("orders", column("id"), column("kind"))
_TESTS = select(_ORDERS.c.id).where(_ORDERS.c.kind == OrderKind.TEST.value)


@dataclass(frozen=True)
class TenantScope:
    """Every query about orders takes one; there is no other way to ask.

    Attributes:
        order_id: the one order, ``None`` for all of the workshop's.
        tests: nothing but tests.
    """

    workshop_id: str
    order_id: str | None = None
    tests: bool = False

    def within(self, table: Table) -> Iterator[ColumnElement[bool]]:
        """Conditions for rows found by id, in orders or a table with ``workshop_id`` and ``order_id``."""
        return self._conditions(table, self.workshop_id, self.order_id)

    @property
    def kind(self) -> TenantScope:
        """One that stands for all that see as far, each in their own workshop or order."""
        return TenantScope("", None if self.order_id is None else "", self.tests)

    def prepared(self, table: Table) -> Iterator[ColumnElement[bool]]:
        """As :meth:`within`, for a statement that is given the :attr:`values` of any scope of this kind."""
        return self._conditions(table, bindparam("workshop"), bindparam("order"))

    @property
    def values(self) -> dict[str, str | None]:
        """What a prepared statement is given."""
        return {"workshop": self.workshop_id, "order": self.order_id}

    def _conditions(
        self, table: Table, workshop: Given, order: Given | None
    ) -> Iterator[ColumnElement[bool]]:
        yield in_workshop(table, workshop)
        column = table.c.id if table.name == "orders" else table.c.order_id
        if self.order_id is not None:
            yield column == order
        if self.tests:
            yield column.in_(_TESTS)


def in_workshop(table: Table, workshop_id: Given) -> ColumnElement[bool]:
    """That a row found by id is this workshop's, without inviting the use of an index on the workshop.

    SQLite, which keeps no statistics unless told, would rather read all rows of a workshop than look up a
    list of ids; an index is not used for an expression.
    """
    same: ColumnElement[bool] = table.c.workshop_id.concat("") == workshop_id
    return same
