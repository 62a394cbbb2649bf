"""What a transaction writes at its end, because it is counted in a row that all of a workshop share.

Whoever writes such a row keeps the others from it until the transaction is over; written last of all, that is for no
longer than it must be.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from sqlalchemy import Connection

AT_LAST = "slatproof_at_last"
"""Execution option of a connection that writes: what is still to be written in its transaction."""

Writes = Callable[[Connection, str, Sequence[Any]], None]
"""Writes several values of one workshop, in their order."""
Kept = dict[tuple[str, Writes], list[Any]]


def at_last(connection: Connection, write: Writes, workshop_id: str, value: object) -> None:
    """Have a value written at the end of the transaction; at once where nobody looks after its end."""
    kept: Kept | None = connection.get_execution_options().get(AT_LAST)
    if kept is None:
        write(connection, workshop_id, [value])
    else:
        kept.setdefault((workshop_id, write), []).append(value)


def write_kept(connection: Connection, kept: Kept) -> None:
    """Write what was kept, always in the same order of workshops, so that no two wait for each other."""
    for (workshop_id, write), values in sorted(kept.items(), key=lambda each: each[0][0]):
        write(connection, workshop_id, values)
    kept.clear()
