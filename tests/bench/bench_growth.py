"""Issue 8: a hundred thousand orders with a million carvings against a thousand: within twice the time."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import sqlalchemy as sa

from service.maintenance import let_go
from service.orders.actors import Maker
from service.orders.ids import new_id
from service.root import Service, build
from service.seeding import seed_shop
from service.store import tables
from service.store.rows import NO_DATE
from service.usecases import looking, shop
from service.usecases.commands import OrderFilter, PageAsk
from tests.bench.harness import Measured, case, compare
from tests.parts.database_server import DatabaseServer
from tests.running import settings_for

FEW, MANY, CARVINGS = 1_000, 100_000, 10
AT_ONCE = 2_000
NOW = datetime(2026, 11, 1, 9, tzinfo=UTC)
# As a shop of some years has them: nearly all are done, as many are at hand as one person can have.
AT_HAND = {"draft": 60, "submitted": 120, "released": 40, "in-production": 20}
NAMES = ("Harrowdale", "Fenwick", "Thistle", "Oxley", "Marrow", "Quill", "Sedge", "Tamarisk")


@dataclass
class Shelf:
    """A shop with so many orders.

    Attributes:
        some: id of one of them.
        words: two of its words: every eighth order has the one, none but it the other.
        hundred: a word that about a hundred orders have, however many there are.
    """

    service: Service
    maker: Maker
    some: str
    words: str
    hundred: str


@contextmanager
def shelf(count: int, database: str = "") -> Iterator[Shelf]:
    """A shop with so many orders, on SQLite where no database is given."""
    with tempfile.TemporaryDirectory() as folder:
        service = build(settings_for(Path(folder), database=database))
        service.migrate()
        seed_shop(service.ctx)
        workshop = shop.list_workshops(service.ctx)[0].id
        dice = random.Random(count)
        ids = [new_id() for _ in range(count)]
        for start in range(0, count, AT_ONCE):
            _fill(service, workshop, ids, start, min(start + AT_ONCE, count), dice)
        maker = Maker(workshop, "bench", "Tamsin Oxbarrow", "127.0.0.1")
        name = looking.get_order(service.ctx, maker, ids[-50]).order.contact.name.split()[-1]
        yield Shelf(
            service,
            maker,
            ids[-50],
            f"{name} {count - 49}",
            "garden990" if count == MANY else NAMES[0].lower(),
        )
        let_go(service)


def _fill(
    service: Service, workshop: str, ids: list[str], start: int, stop: int, dice: random.Random
) -> None:
    states = [state for state, number in AT_HAND.items() for _ in range(number)]
    orders, words, lines, carvings = [], [], [], []
    for number in range(start, stop):
        fresh = len(ids) - number <= len(states)
        state = states[len(ids) - number - 1] if fresh else "done"
        name, order = dice.choice(NAMES), ids[number]
        day = date(2027, 1, 1) + timedelta(days=dice.randrange(200)) if fresh else NO_DATE
        orders.append(_order(workshop, order, number + 1, state, name, day))
        every = {str(number + 1), name.lower(), "quillfern", f"garden{number % 997}"}
        words += [{"order_id": order, "word": word, "workshop_id": workshop} for word in every]
        line = new_id()
        lines.append(
            {"id": line, "workshop_id": workshop, "order_id": order, "position": 0, "quantity": 2, "note": ""}
            | {"model_key": "longwalk-bench"}
        )
        carvings += [_carving(workshop, order, line, n, state) for n in range(CARVINGS)]
    with service.database.writing() as connection:
        for table, rows in (
            (tables.orders, orders),
            (tables.order_words, words),
            (tables.lines, lines),
            (tables.carvings, carvings),
        ):
            connection.execute(sa.insert(table), rows)


def _order(workshop: str, order: str, number: int, state: str, name: str, day: date) -> dict[str, object]:
    return {
        "id": order, "workshop_id": workshop, "number": number, "state": state, "revision": 1, "activity": 1,
        "contact_name": f"Imke {name}", "contact_email": f"{name.lower()}@quillfern.example",
        "contact_phone": "", "contact_organisation": "Quillfern", "due": day, "rights_granted": True,
        "needed_by": None if day == NO_DATE else day, "note": "", "reason": "", "created_at": NOW,
        "updated_at": NOW,
    }  # fmt: skip


def _carving(workshop: str, order: str, line: str, n: int, state: str) -> dict[str, object]:
    return {
        "id": new_id(), "workshop_id": workshop, "order_id": order, "line_id": line, "slat_key": f"slat-{n}",
        "piece": 0, "state": "no-art" if state == "draft" else "approved", "revision": 1, "outline_note": "",
        "allowances": {},
    }  # fmt: skip


def grown(ask: Callable[[Shelf], object]) -> Measured:
    """The same question of both shops, in turn."""
    with shelf(MANY) as large, shelf(FEW) as small:
        return compare(lambda: [ask(large) for _ in range(20)], lambda: [ask(small) for _ in range(20)], 9)


def listed(**wanted: object) -> Callable[[Shelf], object]:
    def ask(at: Shelf) -> object:
        found = looking.list_orders(at.service.ctx, at.maker, OrderFilter(**wanted), PageAsk(50))  # type: ignore[arg-type]
        assert found.items
        return found

    return ask


SIZE = "100,000 orders and 1,000,000 carvings against 1,000"


@case(issue=8, name="queue page as the shop grows", n=SIZE, target=2)
def queue() -> Measured:
    return grown(listed(states=("submitted", "released"), order_by="needed-by"))


@case(issue=8, name="newest orders as the shop grows", n=SIZE, target=2)
def newest() -> Measured:
    return grown(listed())


@case(issue=8, name="search for a common word as the shop grows", n=SIZE, target=2)
def common() -> Measured:
    return grown(listed(words="quillfern"))


@case(issue=8, name="search that finds a hundred orders as the shop grows", n=SIZE, target=2)
def rare() -> Measured:
    """Fifty are shown in both: showing them takes longer than finding them."""
    return grown(lambda at: listed(words=at.hundred)(at))


@case(issue=8, name="search for two words as the shop grows", n=SIZE, target=2)
def two_words() -> Measured:
    """A name and an order's number: the same one order in both, so that only the looking differs."""
    return grown(lambda at: listed(words=at.words)(at))


@case(issue=8, name="counts of states as the shop grows", n=SIZE, target=2)
def counts() -> Measured:
    return grown(lambda at: looking.count_states(at.service.ctx, at.maker))


@case(issue=8, name="order page as the shop grows", n=SIZE, target=2)
def order_page() -> Measured:
    return grown(lambda at: looking.get_order(at.service.ctx, at.maker, at.some))


@case(issue=8, name="pages on PostgreSQL as the shop grows", n=SIZE, target=2)
def on_postgres() -> Measured:
    """The worst ratio of all questions above; each is in the note. One shop of that size takes minutes to fill."""
    questions = {
        "queue page": listed(states=("submitted", "released"), order_by="needed-by"),
        "newest orders": listed(),
        "common word": listed(words="quillfern"),
        "word of a hundred orders": lambda at: listed(words=at.hundred)(at),
        "two words": lambda at: listed(words=at.words)(at),
        "counts of states": lambda at: looking.count_states(at.service.ctx, at.maker),
        "order page": lambda at: looking.get_order(at.service.ctx, at.maker, at.some),
    }
    server = DatabaseServer()
    server.start()
    try:
        with shelf(MANY, server.create("large")) as large, shelf(FEW, server.create("small")) as small:
            _analyse(large), _analyse(small)
            found = {
                name: compare(
                    lambda a=ask: [a(large) for _ in range(20)],
                    lambda a=ask: [a(small) for _ in range(20)],
                    9,
                )
                for name, ask in questions.items()
            }
    finally:
        server.remove()
    worst = max(found.values(), key=lambda each: each.ratio or 0.0)
    return replace(worst, note=", ".join(f"{name} {each.ratio:.2f}" for name, each in found.items()))


def _analyse(at: Shelf) -> None:
    """As PostgreSQL does by itself within a minute of so many rows."""
    with at.service.database.writing() as connection:
        connection.execute(sa.text("ANALYZE"))
