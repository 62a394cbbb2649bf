"""The texts of a run: from a typed list or a CSV table, every problem told with its row."""

from __future__ import annotations

import codecs
import csv
import io
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from artwork.errors import EngineError
from artwork.remark import FileWarning, Severity

LONGEST_TEXT = 120
"""Characters of one piece's text; no slat takes more."""
MOST_TEXTS = 2000
"""Texts of one run."""
MOST_BYTES = 2_000_000
"""Size of a list or table."""
_DELIMITERS = ",;\t|"
_STEERING = "\u200c\u200d\u200e\u200f"


@dataclass(frozen=True)
class Entry:
    """One piece's text.

    Attributes:
        row: line of the list or of the table, as people count them, from 1.
        text: trimmed, accents composed (NFC), its lines separated by ``"\\n"``.
    """

    row: int
    text: str


@dataclass(frozen=True)
class RosterProblem:
    """Something about one row that its sender should know.

    Attributes:
        row: counted from 1.
        code: stable identifier (``"empty"``, ``"same-again"``, ``"too-long"``, ``"hidden-characters"``).
        message: what is the matter and what to do, one sentence.
        severity: ``"warns"`` where the row is left out or may be a slip, else ``"tells"``.
    """

    row: int
    code: str
    message: str
    severity: Severity = "warns"


@dataclass(frozen=True)
class Roster:
    """What was read.

    Attributes:
        entries: the texts that can be set, in order.
        problems: by row.
        columns: headings of the table, none for a typed list.
        remarks: about the file as a whole.
    """

    entries: tuple[Entry, ...]
    problems: tuple[RosterProblem, ...]
    columns: tuple[str, ...] = ()
    remarks: tuple[FileWarning, ...] = ()


def typed(text: str) -> Roster:
    """A list as typed: one text a line, commas and all.

    Raises:
        EngineError: ``list-too-long``, ``empty-list``.
    """
    _refuse_size(len(text.encode("utf-8", "surrogatepass")))
    return _roster([(at, [line]) for at, line in enumerate(text.rstrip().splitlines(), 1)])


def from_csv(data: bytes, columns: Sequence[str] = (), *, headed: bool = True) -> Roster:
    """A table: commas, semicolons, tabs or bars between cells, any line ends, quoted cells.

    UTF-8 or UTF-16, with or without a mark; other bytes are read as Windows-1252, with a remark. A cell that
    would be a formula in a spreadsheet is text like any other here.

    Args:
        data: the file's bytes.
        columns: headings of the columns carved, one line of text each, first line first; none: the first.
        headed: the first row holds headings; else columns are called ``"1"``, ``"2"``, ….

    Raises:
        EngineError: ``list-too-long``, ``empty-list``, ``no-such-column``, ``not-a-table``, ``unreadable-text``.
    """
    _refuse_size(len(data))
    text, remarks = _decoded(data)
    rows = _rows(text)
    if not rows:
        raise _empty()
    first = rows[0][1]
    names = [_clean(cell) for cell in first] if headed else [str(k + 1) for k in range(len(first))]
    wanted = [_column(names, name) for name in columns] or [0]
    body = rows[1:] if headed else rows
    cells = [(at, [row[k] for k in wanted if k < len(row)]) for at, row in body]
    found = _roster(cells)
    return Roster(found.entries, found.problems, tuple(names), remarks)


def _roster(rows: Sequence[tuple[int, Sequence[str]]]) -> Roster:
    """Texts from cells; empty and over-long ones are left out and told, repeated ones kept and told."""
    entries: list[Entry] = []
    problems: list[RosterProblem] = []
    seen: dict[str, int] = {}
    for row, cells in rows:
        if hidden := _hidden(cells):
            problems.append(
                RosterProblem(
                    row,
                    "hidden-characters",
                    f"Row {row} held characters that cannot be seen, which were left out: {hidden}.",
                    "tells",
                )
            )
        lines = [_clean(part) for cell in cells for part in cell.splitlines()]
        text = "\n".join(line for line in lines if line)
        if wrong := _wrong(row, text):
            problems.append(wrong)
            continue
        if (first := seen.setdefault(text.casefold(), row)) != row:
            shown = text.replace("\n", " / ")
            problems.append(
                RosterProblem(row, "same-again", f"Row {row} repeats row {first}, “{shown}”. Both are made.")
            )
        entries.append(Entry(row, text))
    if not entries:
        raise _empty()
    if len(entries) > MOST_TEXTS:
        raise EngineError(
            "list-too-long",
            f"The list has {len(entries)} texts; one run takes {MOST_TEXTS}.",
            "Split it over several lines of the order.",
        )
    return Roster(tuple(entries), tuple(problems))


def _wrong(row: int, text: str) -> RosterProblem | None:
    """Why no piece can be made of a row."""
    if not text:
        return RosterProblem(row, "empty", f"Row {row} is empty; no piece is made of it.")
    if len(text) > LONGEST_TEXT:
        message = f"Row {row} has {len(text)} characters; a slat takes at most {LONGEST_TEXT}. Shorten it."
        return RosterProblem(row, "too-long", message)
    return None


def _refuse_size(size: int) -> None:
    if size > MOST_BYTES:
        raise EngineError(
            "list-too-long",
            f"The list is {size / 1e6:.1f} MB large; at most {MOST_BYTES / 1e6:g} MB are read.",
            "Send only the column of texts.",
        )


def _empty() -> EngineError:
    return EngineError("empty-list", "There is no text in this list.", "Write one text a line.")


def _decoded(data: bytes) -> tuple[str, tuple[FileWarning, ...]]:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _by("utf-16", data), ()
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        remark = FileWarning(
            "not-utf-8",
            "The file is not in UTF-8 and was read as Windows-1252. Check the accents, or save it as UTF-8.",
            "warns",
        )
        return _by("cp1252", data), (remark,)


def _by(encoding: str, data: bytes) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        raise EngineError(
            "unreadable-text", "The bytes of this file are no text.", "Save it as CSV in UTF-8."
        ) from None


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Rows with their number; empty ones at the end are the file's, not its sender's."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        rows += enumerate(reader, 1)
    except csv.Error as error:
        raise EngineError(
            "not-a-table",
            f"The table cannot be read near line {reader.line_num}: {error}.",
            "Check the quotation marks there, or send the texts as a list, one a line.",
        ) from None
    while rows and not any(cell.strip() for cell in rows[-1][1]):
        rows.pop()
    return rows


def _delimiter(text: str) -> str:
    """What stands between the cells of the first row; a mark that no text holds where it is one cell."""
    first = text.splitlines()[0] if text else ""
    outside = "".join(first.split('"')[::2])
    most = max(_DELIMITERS, key=outside.count)
    return most if most in outside else "\x1f"


def _column(names: Sequence[str], wanted: str) -> int:
    matches = [k for k, name in enumerate(names) if name.casefold() == wanted.strip().casefold()]
    if not matches:
        shown = ", ".join(f"“{name}”" for name in names)
        raise EngineError(
            "no-such-column", f"The table has no column “{wanted}”.", f"Choose one of: {shown}."
        )
    return matches[0]


def _clean(text: str) -> str:
    """Accents composed, hidden characters left out, spaces single."""
    seen = "".join(character for character in text if not _is_hidden(character))
    return " ".join(unicodedata.normalize("NFC", seen).split())


def _is_hidden(character: str) -> bool:
    """Control and format characters but spaces and those that steer shaping (joiners, direction marks)."""
    kind = unicodedata.category(character)
    return kind in ("Cc", "Cf", "Cs", "Co") and not character.isspace() and character not in _STEERING


def _hidden(cells: Sequence[str]) -> str:
    """The hidden characters among them, each named once."""
    found = dict.fromkeys(character for cell in cells for character in cell if _is_hidden(character))
    return ", ".join(
        f"U+{ord(character):04X} {unicodedata.name(character, 'control character')}" for character in found
    )
