"""A running service with a shelf of proved orders, and a bare server to measure it against."""

from __future__ import annotations

import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa
import uvicorn
from starlette.applications import Starlette

from service.orders.ids import new_id
from service.root import build
from service.store import tables
from service.store.engine import Database
from tests.running import Json, Running, art, carvings, serve, settings_for

LINES = [
    {"model_key": "longwalk-bench", "quantity": 2, "slats": ["back-centre", "back-rail", "seat-front"]},
    {
        "model_key": "fernhollow-chair",
        "quantity": 4,
        "slats": ["back-centre", "back-inner-left", "seat-front"],
    },
]


@contextmanager
def shop(**settings: object) -> Iterator[Running]:
    """A fresh service with the seed shop."""
    with tempfile.TemporaryDirectory() as folder:
        serving = serve(build(settings_for(Path(folder), **settings)))
        try:
            yield next(serving)
        finally:
            next(serving, None)


def proved_order(running: Running) -> Json:
    """One submitted order with art and a proof on six slats."""
    placed = running.caller().send_order(lines=LINES)
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [c["id"] for c in carvings(order)])
    return client.settled(order["id"], seconds=300)


def copy_order(database: Database, order_id: str, times: int) -> list[str]:
    """The same order over and over, as rows: proving each would take minutes and show nothing else.

    Their ids.
    """
    made = []
    kinds = (tables.lines, tables.artworks, tables.readings, tables.carvings, tables.proofs)
    with database.writing() as connection:
        order = (
            connection.execute(sa.select(tables.orders).where(tables.orders.c.id == order_id)).one()._asdict()
        )
        rows = {
            t: [r._asdict() for r in connection.execute(sa.select(t).where(t.c.order_id == order_id))]
            for t in kinds
        }
        proofs = [row["id"] for row in rows[tables.proofs]]
        of_these = tables.standings.c.proof_id.in_(proofs)
        standings = [r._asdict() for r in connection.execute(sa.select(tables.standings).where(of_these))]
        last = connection.scalar(sa.select(sa.func.max(tables.orders.c.number))) or 0
        for number in range(last + 1, last + 1 + times):
            made.append(new_id())
            names = {order_id: made[-1]} | {row["id"]: new_id() for t in kinds for row in rows[t]}
            connection.execute(sa.insert(tables.orders).values(**_renamed(order, names) | {"number": number}))
            for table in kinds:
                connection.execute(sa.insert(table), [_renamed(row, names) for row in rows[table]])
            if standings:
                connection.execute(sa.insert(tables.standings), [_renamed(row, names) for row in standings])
    return made


def _renamed(row: dict[str, object], names: dict[str, str]) -> dict[str, object]:
    return {key: names.get(value, value) if isinstance(value, str) else value for key, value in row.items()}


@contextmanager
def bare(app: Starlette) -> Iterator[str]:
    """A bare application served by the same server; its address."""
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
