"""Contact sheets: what was sent, what was read, and what is offered beside it.

python -m tests.artwork.intake.sheets SHEET.png FILE…
python -m tests.artwork.intake.sheets --labelled SHEET.png      the drawings of ``bench/colour-art-verdicts.tsv``
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import resvg_py
from PIL import Image, ImageDraw

from artwork.errors import EngineError
from artwork.intake import Reading, read_artwork

SIDE = 180
COLUMNS = 6
WORDS = 30


def sent(path: Path) -> Image.Image:
    """The file as other programs show it; nothing where they cannot."""
    data = path.read_bytes()
    try:
        if path.suffix == ".svg":
            data = bytes(
                resvg_py.svg_to_bytes(svg_string=data.decode("utf-8", "replace"), width=SIDE, dpi=96)
            )
        picture = Image.open(io.BytesIO(data)).convert("RGBA")
    except (OSError, ValueError):
        return Image.new("RGB", (SIDE, SIDE), "white")
    paper = Image.new("RGBA", picture.size, "white")
    paper.alpha_composite(picture)
    return paper.convert("RGB")


def row(path: Path) -> Image.Image:
    """One file's row: sent, read, the choices; the one that was taken is framed."""
    strip = Image.new("RGB", (COLUMNS * SIDE, SIDE + WORDS), "white")
    draw = ImageDraw.Draw(strip)
    paste(strip, sent(path), 0)
    try:
        reading = read_artwork(path.read_bytes(), path.name)
    except EngineError as refusal:
        draw.text((SIDE + 4, 20), f"{refusal.code}: {refusal.message}", fill="red")
        return strip
    for at, (picture, words, taken) in enumerate(shown(reading), 1):
        paste(strip, Image.open(io.BytesIO(picture)).convert("RGB"), at)
        draw.text((at * SIDE + 4, SIDE), words, fill="black")
        if taken:
            draw.rectangle((at * SIDE, 0, (at + 1) * SIDE - 2, SIDE - 2), outline="green")
    codes = " ".join(remark.code for remark in reading.remarks)
    draw.text((4, SIDE + 14), f"{path.name}: {reading.kind}. {reading.sentence} {codes}", fill="gray")
    return strip


def shown(reading: Reading) -> list[tuple[bytes, str, bool]]:
    """Picture, look and whether it was taken, of the reading and of each choice."""
    found = [(reading.picture, "as it was read", False)]
    found += [(c.picture, f"{c.wishes.way} {c.wishes.inks}", c.taken) for c in reading.choices]
    return found[: COLUMNS - 1]


def paste(strip: Image.Image, picture: Image.Image, column: int) -> None:
    """A picture into its column, no larger than that."""
    picture.thumbnail((SIDE - 6, SIDE - 6))
    strip.paste(picture, (column * SIDE + 3, 3))


def main(out: str, *names: str) -> None:
    """Write one sheet of many files."""
    rows = [row(Path(name)) for name in names]
    sheet = Image.new("RGB", (COLUMNS * SIDE, len(rows) * (SIDE + WORDS)), "white")
    for at, strip in enumerate(rows):
        sheet.paste(strip, (0, at * (SIDE + WORDS)))
    sheet.save(out)


def labelled() -> list[str]:
    """The drawings that have verdicts."""
    from tests.bench.bench_looks import CLIPART, LABELS

    return [str(CLIPART / name) for name in LABELS]


if __name__ == "__main__":
    if sys.argv[1] == "--labelled":
        main(sys.argv[2], *labelled())
    else:
        main(*sys.argv[1:])
