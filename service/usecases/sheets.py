"""The contact sheet of a run of texts: drawn from its proofs when asked for, the same bytes each time."""

from __future__ import annotations

from service.orders.actors import Actor
from service.orders.errors import ConflictError, NotFoundError
from service.orders.suites import SuiteKind, WholeSuite
from service.store import orders
from service.usecases import computing_suites
from service.usecases.cache import Cache
from service.usecases.context import Context
from service.usecases.drawing import cut_of
from service.usecases.guard import reach_of
from service.usecases.suites import get_suite

_SECONDS = 120.0
_WAIT = 10.0
_sheets: Cache[bytes] = Cache(8)
_pages: Cache[tuple[bytes, ...]] = Cache(8)


def names_sheet(ctx: Context, actor: Actor, suite_id: str) -> bytes:
    """The contact sheet as PDF. NotFoundError, ConflictError "not-ready", TooManyError."""
    whole = get_suite(ctx, actor, suite_id)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach_of(actor), whole.suite.order_id)
    return contact_sheet(ctx, whole, 0 if order is None else order.number, _WAIT)


def names_page(ctx: Context, actor: Actor, suite_id: str, page: int) -> bytes:
    """One page of the contact sheet as a PNG, counted from 1.

    NotFoundError, ConflictError "not-ready", TooManyError.
    """
    document = names_sheet(ctx, actor, suite_id)
    pages = _pages.get((document,))
    if pages is None:
        pages = ctx.compute.run(computing_suites.sheet_pages, document, wait=_WAIT)
        _pages.put((document,), pages)
    if not 1 <= page <= len(pages):
        raise NotFoundError("page")
    return pages[page - 1]


def contact_sheet(ctx: Context, whole: WholeSuite, number: int, wait: float | None = None) -> bytes:
    """The sheet of a run whose pieces are all judged. ConflictError "not-ready"."""
    judged = [proof for proof in whole.proofs if proof is not None]
    waits = any(c.proof_id is None and c.trouble is None for c in whole.carvings)
    if whole.suite.kind is not SuiteKind.NAMES or waits or not judged:
        raise ConflictError("not-ready", "The list is still being worked on. Ask again in a moment.")
    of_what = (whole.suite.id, whole.suite.revision, whole.digest, tuple(p.digest for p in judged), number)
    known = _sheets.get(of_what)
    if known is None:
        at, _ = cut_of(judged[0])
        rows = [(part.place, part.row, part.text) for part in whole.parts]
        head = f"Order {number}, a text on every piece", whole.digest or "not yet: see the exceptions"
        known = ctx.compute.run(
            computing_suites.names_sheet, dict(whole.suite.wanted), at, rows, head,
            {proof.digest: (dict(proof.check), ctx.blobs.get(proof.picture)) for proof in judged},
            wait=wait, seconds=_SECONDS,
        )  # fmt: skip
        _sheets.put(of_what, known)
    return known
