"""CSV as people's spreadsheets read it: what we write never runs as a formula there."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet may take for the start of a formula (OWASP, "CSV Injection")."""


def neutral(cell: object) -> str:
    """The cell as text that a spreadsheet shows and does not calculate.

    A number of ours (``int``, ``float``) stays as it is, a minus sign included; text from outside that starts
    like a formula gets an apostrophe before it.
    """
    text = str(cell)
    if isinstance(cell, int | float):
        return text
    return "'" + text if text.lstrip(" ").startswith(_STARTS_FORMULA) else text


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A whole table: UTF-8, commas, CRLF (RFC 4180), every cell neutral."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(neutral(cell) for cell in header)
    writer.writerows([neutral(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8")
