"""Prints how the service answers the cast now: ``python -m tests.access.table``; look before you take it."""

from __future__ import annotations

import tempfile
from pathlib import Path

from service.rest.table import OPERATIONS
from service.root import build
from tests.access.cast import MEMBERS, assemble
from tests.running import serve, settings_for


def main() -> None:
    """Assemble the cast and let everybody call everything."""
    from tests.access.test_rest import answered, events_answered

    with tempfile.TemporaryDirectory() as folder:
        serving = serve(build(settings_for(Path(folder))))
        cast = assemble(next(serving))
        rows = [["operation", *MEMBERS]]
        rows += [[op.name, *(answered(op, cast, member) for member in MEMBERS)] for op in OPERATIONS]
        rows.append(["getOrderEvents", *(events_answered(cast, member) for member in MEMBERS)])
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        for row in rows:
            print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())  # noqa: T201
        next(serving, None)


if __name__ == "__main__":
    main()
