"""The sheet that goes to the machine with a job sheet: which program each carving was checked with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.batches.cautions import DEFERS
from service.batches.sheet import LEFT, LOW, RIGHT, TOP, Sheet, shortened
from service.language.chosen import N_, _, spoken
from service.language.figures import long_day_words
from service.language.phrasebook import told
from service.orders.machine import Machine
from service.orders.program_checks import COMPARED, NOT_COMPARED, ProgramCheck

ROW = 22.0
_WORDS = {
    "cuts-what-was-signed": N_("CHECKED: it cuts what was signed"),
    "differs": N_("DIFFERS from what was signed"),
    "is-not-this-carving": N_("IS NOT this carving"),
}


@dataclass(frozen=True)
class SheetRow:
    """One carving and the last check of a program for it, if there was one."""

    slat_name: str
    digest: str
    check: ProgramCheck | None


def program_sheet(machine: Machine, shop_name: str, number: int, rows: Sequence[SheetRow]) -> bytes:
    """PDF, black on white, as the machine's settings have paper and language; same values, same bytes."""
    with spoken(machine.language):
        return _drawn(Sheet(machine.paper, _heading(number)), shop_name, number, rows)


def _heading(number: int) -> str:
    return _("Program checks, order {number}", number=number)


def _drawn(sheet: Sheet, shop_name: str, number: int, rows: Sequence[SheetRow]) -> bytes:
    sheet.text(LEFT, TOP + 8, _heading(number), 16, bold=True)
    y = sheet.paragraph(LEFT, TOP + 16, told(COMPARED), RIGHT - LEFT)
    y = sheet.paragraph(LEFT, y + 1, told(NOT_COMPARED), RIGHT - LEFT)
    y = sheet.paragraph(LEFT, y + 1, told(DEFERS), RIGHT - LEFT) + 4
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
    sheet.text(LEFT, LOW + 5, f"{shop_name} · " + _("order {number}", number=number), 7)
    sheet.number()


def _row(sheet: Sheet, row: SheetRow, y: float) -> None:
    sheet.rule(y - 4)
    sheet.text(LEFT, y, row.slat_name, 11, bold=True)
    sheet.right(RIGHT, y, _("proof {digest}", digest=row.digest[:16]) + " …", 7)
    if row.check is None:
        sheet.text(LEFT, y + 6, _("No program was checked for it."), 9)
        return
    check = row.check
    sheet.text(LEFT, y + 6, _(_WORDS[check.outcome]), 10, bold=True)
    day = long_day_words(check.at.date())
    who = _("Program “{name}”, checked {day} by {who}.", name=check.name, day=day, who=check.by)
    said = f"{told(check.sentence)} {who}"
    sheet.text(LEFT, y + 11, shortened(said, RIGHT - LEFT, 8), 8)
    sheet.text(LEFT, y + 15, _("SHA-256 of the program: {sha}", sha=check.program), 7)
