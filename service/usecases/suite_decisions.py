"""Suites as a whole: put together from the store, and decided on as one."""

from __future__ import annotations

from sqlalchemy import Connection

from service.orders.errors import ConflictError, NotFoundError
from service.orders.proofs import Shown
from service.orders.suites import SuiteShown, WholeSuite, whole_suites
from service.store import art, orders, suites
from service.store.tenant_scope import TenantScope
from service.usecases.opened import OpenOrder


def read_whole_suites(connection: Connection, reach: TenantScope, order_id: str) -> tuple[WholeSuite, ...]:
    """Every suite of an order, as this transaction sees it."""
    only = [order_id]
    found = suites.suites_of_orders(connection, reach, only)
    if not found:
        return ()
    return whole_suites(
        found,
        suites.parts_of_orders(connection, reach, only),
        {carving.id: carving for carving in orders.carvings_of_orders(connection, reach, only)},
        art.current_proofs(connection, reach, only),
    )


def find_whole_suite(connection: Connection, reach: TenantScope, suite_id: str) -> WholeSuite:
    """One suite within reach. NotFoundError."""
    suite = suites.find_suite(connection, reach, suite_id)
    if suite is None:
        raise NotFoundError("suite")
    found = read_whole_suites(connection, reach, suite.order_id)
    return next(each for each in found if each.suite.id == suite_id)


def shown_together(
    opened: OpenOrder, shown: tuple[Shown, ...], seen: tuple[SuiteShown, ...]
) -> tuple[tuple[Shown, ...], dict[str, dict[str, str]]]:
    """All proofs decided on, suites taken apart; and by carving what the record holds of its suite.

    A carving of a suite is decided on with the whole of it. ConflictError "not-current", "part-of-suite".
    """
    found = {
        each.suite.id: each for each in read_whole_suites(opened.connection, opened.reach, opened.order.id)
    }
    of_suite = {part.carving_id for each in found.values() for part in each.parts}
    if any(each.carving_id in of_suite for each in shown):
        raise ConflictError(
            "part-of-suite", "This is part of a whole. Decide on the whole list or picture at once."
        )
    every, facts = list(shown), {}
    for one in seen:
        whole = found.get(one.suite_id)
        if whole is None:
            raise NotFoundError("suite")
        if whole.digest is None or whole.digest != one.digest:
            raise ConflictError(
                "not-current", "This list or picture has changed since. Look at it as it is now, then decide."
            )
        for proof in whole.proofs:
            if proof is not None:
                every.append(Shown(proof.carving_id, proof.digest, proof.picture))
                facts[proof.carving_id] = {"suite": one.suite_id, "suite_digest": one.digest}
    return tuple(every), facts
