"""The same exports made as on machines of other time zones and languages, each in a process of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ZONES = ("Pacific/Auckland", "America/St_Johns", "UTC", "Asia/Kathmandu")
SEEDS = dict(zip(ZONES, ("16", "14", "3", "1"), strict=True))
"""Of Python's hashes of words, another one in each place: 14 and 3 once gave drawings that differ."""
LANGUAGES = ("de_DE", "tr_TR", "fa_IR")
"""A decimal comma; an i without and one with its dot; figures of its own and a calendar's other words."""
SOURCES = Path("/usr/share/i18n")


@dataclass(frozen=True)
class Elsewhere:
    """One export: where it was made, what that place puts between whole and tenths, what came of it."""

    zone: str
    language: str
    decimal_point: str
    digests: tuple[str, ...]


def languages(folder: Path, names: Sequence[str] = LANGUAGES) -> tuple[str, ...]:
    """Languages compiled into that folder, for ``LOCPATH``; none where the system has nothing to do it with."""
    if shutil.which("localedef") is None or not (SOURCES / "locales" / names[0]).exists():
        return ()
    for name in names:
        # it ends with 1 for mere warnings too: whether a language came of it is seen where it is set
        subprocess.run(
            ["localedef", "-i", name, "-f", "UTF-8", str(folder / f"{name}.UTF-8")],
            capture_output=True,
            check=False,
        )
    return tuple(f"{name}.UTF-8" for name in names)


def exported(zone: str, language: str, folder: Path) -> Elsewhere:
    """Drawings, preview, bed layouts, contact sheet and archive, made there."""
    env = {**os.environ, "TZ": zone, "LC_ALL": language, "LOCPATH": str(folder)}
    if not language.endswith(".UTF-8") or language.startswith("C"):
        del env["LOCPATH"]
    env["PYTHONHASHSEED"] = SEEDS[zone]
    made = subprocess.run(
        [sys.executable, "-c", _EXPORT], capture_output=True, text=True, env=env, check=True
    )
    point, *digests = made.stdout.split()
    return Elsewhere(zone, language, point, tuple(digests))


_EXPORT = """
import hashlib, locale, secrets, time
secrets.token_hex = lambda count: "5a" * count  # the salts of the made-up record
from artwork.cut import Cut
from artwork.drawings.bed_writing import bed_dxf, bed_svg
from artwork.drawings.beds import BedBoard, BedPart, bed_layouts
from artwork.drawings.dxf import dxf
from artwork.drawings.pdf import pdf
from artwork.drawings.svg import svg
from artwork.intake import read_artwork
from artwork.lettering.contact_sheet import contact_sheet
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule
from artwork.lettering.paper import pdf as paper_pdf
from artwork.lettering.roster import typed
from artwork.lettering.runs import Run as Names, judge_run
from artwork.placing import largest_fit
from artwork.preview import preview_png
from seeds.shop import load
from service.batches.assemble import archive
from tests.service.batches.making import SIGNER, Shelf, batch_of
locale.setlocale(locale.LC_ALL, "")
time.tzset()
shop = load()
slat = shop.model("fernhollow-chair").slat("back-centre")
outline = read_artwork(shop.artwork("crest.svg").data, "crest.svg").outline
cut = Cut(outline, slat, largest_fit(outline, slat, shop.allowances), shop.bits[0], shop.allowances)
parts = tuple(BedPart("crest", 860.0, 139.7, along, 0.0, slat, cut) for along in (20.0, 900.0))
beds = bed_layouts([BedBoard(1, "board", 2438.4, 139.7, parts)])
rule, field = FitRule("lato-bold", 30.0, 20.0), Field(0, 300, 300, 60, 90.0)
run = judge_run(Names(typed("Rosa").entries, rule, field, slat, shop.bits[0], shop.allowances))
made = [svg(cut), dxf(cut), pdf(cut), preview_png(cut, None, 1.0), bed_svg(beds[0]), bed_dxf(beds[0])]
made += [paper_pdf(contact_sheet(run, "names"), "names"), b"".join(archive(batch_of(Shelf()), SIGNER))]
print(locale.localeconv()["decimal_point"], " ".join(hashlib.sha256(each).hexdigest()[:16] for each in made))
"""
