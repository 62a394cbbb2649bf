"""What the large shape asks its database for while nobody does anything but listen."""

from __future__ import annotations

import re
import threading
import time
from collections import Counter
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

import httpx2
import sqlalchemy as sa

from tests.parts.shape import DATABASE, Shape
from tests.running import API, Caller, placed_order

LISTENERS = 20
SETTLE_SECONDS = 20.0
_SAID = re.compile(r"LOG:  (?:statement|execute [^:]*): (.*)")
_BRACKETS = frozenset({"BEGIN", "COMMIT", "ROLLBACK"})


def idle(home: Path, workers: int = 2, seconds: float = 30.0) -> dict[str, Any]:
    """Statements and transactions a second, with two workers and twenty listeners, and who asks for most."""
    shape = Shape(home / "idle", webs=1, workers=workers)
    shape.start(seed=True)
    try:
        order, client = placed_order(shape.url)
        with ExitStack() as stack, client:
            for _ in range(LISTENERS):
                stack.enter_context(Listening(client, order["id"]))
            time.sleep(SETTLE_SECONDS)
            _set(shape, "all")
            before = shape.database.part.log.stat().st_size
            time.sleep(seconds)
            _set(shape, "none")
            said = _statements(shape.database.part.log, before)
    finally:
        shape.stop()
    begun = sum(each.startswith("BEGIN") for each in said)
    asked = [each for each in said if each.split(" ")[0].rstrip(";") not in _BRACKETS and each != ";"]
    return {
        "workers": workers,
        "listeners": LISTENERS,
        "statements_per_second": round(len(asked) / seconds, 1),
        "empty_questions_per_second": round(
            said.count(";") / seconds, 1
        ),  # whether a pooled connection lives
        "transactions_per_second": round(begun / seconds, 1),
        "most": Counter(each[:70] for each in asked).most_common(12),
    }


class Listening:
    """Somebody who hears an order's events."""

    def __init__(self, client: Caller, order_id: str) -> None:
        self._client, self._path = client, f"{API}/orders/{order_id}/events"
        self._over = threading.Event()

    def __enter__(self) -> None:
        self._thread = threading.Thread(target=self._hear, daemon=True)
        self._thread.start()

    def __exit__(self, *_: object) -> None:
        self._over.set()

    def _hear(self) -> None:
        with suppress(httpx2.HTTPError), self._client.stream("GET", self._path) as heard:
            for _line in heard.iter_lines():
                if self._over.is_set():
                    return


def _set(shape: Shape, what: str) -> None:
    engine = sa.create_engine(
        shape.database.owner_url(DATABASE), isolation_level="AUTOCOMMIT", poolclass=sa.NullPool
    )
    with engine.connect() as connection:
        connection.exec_driver_sql(f"ALTER SYSTEM SET log_statement = '{what}'")
        connection.exec_driver_sql("SELECT pg_reload_conf()")
    time.sleep(1)


def _statements(log: Path, before: int) -> list[str]:
    with log.open("rb") as file:
        file.seek(before)
        return _SAID.findall(file.read().decode("utf-8", "replace"))
