"""The sheet that goes to the machine with a job sheet: which program each carving was checked with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.batches.cautions import DEFERS
from service.batches.sheet import LEFT, LOW, RIGHT, TOP, Sheet, day_words, shortened
from service.orders.machine import Paper
from service.orders.program_checks import COMPARED, NOT_COMPARED, ProgramCheck

ROW = 22.0
_WORDS = {
    "cuts-what-was-signed": "CHECKED: it cuts what was signed",
    "differs": "DIFFERS from what was signed",
    "is-not-this-carving": "IS NOT this carving",
}


@dataclass(frozen=True)
class SheetRow:
    """One carving and the last check of a program for it, if there was one."""

    slat_name: str
    digest: str
    check: ProgramCheck | None


def program_sheet(paper: Paper, shop_name: str, number: int, rows: Sequence[SheetRow]) -> bytes:
    """PDF, black on white; same values, same bytes."""
    sheet = Sheet(paper, f"Program checks, order {number}")
    sheet.text(LEFT, TOP + 8, f"Program checks, order {number}", 16, bold=True)
    y = sheet.paragraph(LEFT, TOP + 16, COMPARED, RIGHT - LEFT)
    y = sheet.paragraph(LEFT, y + 1, NOT_COMPARED, RIGHT - LEFT)
    y = sheet.paragraph(LEFT, y + 1, DEFERS, RIGHT - LEFT) + 4
    for row in rows:
        if y + ROW > LOW:
            _close(sheet, shop_name, number)
            sheet.turn()
            y = TOP + 4
        _row(sheet, row, y)
        y += ROW
    _close(sheet, shop_name, number)
    return sheet.bytes()


def _close(sheet: Sheet, shop_name: str, number: int) -> None:
    sheet.text(LEFT, LOW + 5, f"{shop_name} · order {number}", 7)
    sheet.number()


def _row(sheet: Sheet, row: SheetRow, y: float) -> None:
    sheet.rule(y - 4)
    sheet.text(LEFT, y, row.slat_name, 11, bold=True)
    sheet.right(RIGHT, y, f"proof {row.digest[:16]} …", 7)
    if row.check is None:
        sheet.text(LEFT, y + 6, "No program was checked for it.", 9)
        return
    check = row.check
    sheet.text(LEFT, y + 6, _WORDS[check.outcome], 10, bold=True)
    said = f"{check.sentence} Program “{check.name}”, checked {day_words(check.at.date())} by {check.by}."
    sheet.text(LEFT, y + 11, shortened(said, RIGHT - LEFT, 8), 8)
    sheet.text(LEFT, y + 15, f"SHA-256 of the program: {check.program}", 7)
