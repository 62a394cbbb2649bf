"""Pictures for README and docs of what engine and batch make: ``python -m tests.gallery OUTDIR``."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
import pypdfium2
import resvg_py
from PIL import Image

from artwork.across import Tools, fit_across, lay_across
from artwork.axis import study
from artwork.cut import Cut
from artwork.digest import digest, facts
from artwork.drawings import Run, bed_layouts, svg
from artwork.findings import Check, check
from artwork.intake import read_artwork
from artwork.jsonable import check_to_json
from artwork.outline import Outline
from artwork.piece_picture import piece_png
from artwork.placing import largest_fit
from artwork.preview import BORDER, preview
from seeds.shop import load
from service.batches.job_sheet import job_sheet
from service.batches.jobs import JobList
from tests.service.batches.making import SHOP as MAKER
from tests.service.batches.making import Shelf, carving_of, order_of

SHOP = load()
ROW = ("back-left-2", "back-left-1", "back-centre", "back-right-1", "back-right-2")


def judged(art: str, model: str, slat: str) -> tuple[Cut, Check]:
    """The artwork as large as it fits that slat, and what the check has to say."""
    outline = _outline(art)
    wood = SHOP.model(model).slat(slat)
    cut = Cut(outline, wood, largest_fit(outline, wood, SHOP.allowances), SHOP.bits[0], SHOP.allowances)
    return cut, check(cut, study(outline))


def around_art(cut: Cut, picture: np.ndarray, px_per_mm: float, room: float = 24.0) -> Image.Image:
    """The part of a preview around the art."""
    left, low, right, high = cut.placed().bounds
    x0, _, _, y1 = cut.slat.outline.bounds
    corners = np.array([[left - room - x0, y1 - high - room], [right + room - x0, y1 - low + room]]) + BORDER
    pixels = np.clip(corners * px_per_mm, 0, picture.shape[1::-1]).round().astype(int)
    (c0, r0), (c1, r1) = pixels.tolist()
    return Image.fromarray(picture[r0:r1, c0:c1])


def drawing_beside_wood(art: str, model: str, slat: str, wood: str = "fresh") -> Image.Image:
    """What the client drew beside what will be left."""
    cut, found = judged(art, model, slat)
    density = 5.0
    carved = around_art(cut, preview(cut, found, density, wood), density)
    page = resvg_py.svg_to_bytes(svg_string=svg(cut).decode(), dpi=25.4 * density, background="white")
    drawn = np.asarray(Image.open(io.BytesIO(bytes(page))).convert("RGB"))
    framed = np.pad(
        drawn, [(round(BORDER * density),) * 2, (round(BORDER * density),) * 2, (0, 0)], constant_values=255
    )
    plain = around_art(cut, framed, density)
    both = Image.new("RGB", (plain.width + carved.width + 24, max(plain.height, carved.height)), "white")
    both.paste(plain, (0, 0))
    both.paste(carved, (plain.width + 24, 0))
    return both


def job_sheets() -> list[Image.Image]:
    """Front and details of a job sheet."""
    order, gathered, shelf = order_of(12), JobList(MAKER), Shelf()
    for number, (art, model, slat) in enumerate(
        (("crest.svg", "fernhollow-chair", "back-centre"), ("thin.png", "longwalk-bench", "back-rail")), 1
    ):
        cut, found = judged(art, model, slat)
        carving = carving_of(
            shelf,
            order,
            number,
            digest=digest(cut),
            check=check_to_json(found),
            slat_name=cut.slat.name,
            model_name=SHOP.model(model).name,
        )
        gathered.add(carving, facts(cut), f"{number:03}-{slat}")
    document = pypdfium2.PdfDocument(job_sheet(MAKER, order, gathered.jobs, "b1"))
    return [page.render(scale=1.5).to_pil().convert("L") for page in document]


def picture_across() -> Image.Image:
    """One picture over five slats."""
    bench, outline = SHOP.model("longwalk-bench"), _outline("thin.png")
    where = fit_across(outline, bench, ROW, SHOP.allowances)
    across = lay_across(outline, bench, ROW, where, Tools(SHOP.bits[0], SHOP.allowances))
    return _opened(piece_png(bench, [each.cut for each in across.slices]))


def bed() -> Image.Image:
    """A run of twelve on the bed."""
    cut, _ = judged("crest.svg", "fernhollow-chair", "back-centre")
    (layout,) = bed_layouts([Run(cut, 12, "order 12")])
    return _opened(bytes(resvg_py.svg_to_bytes(svg_string=layout.svg().decode(), dpi=12, background="white")))


def _outline(art: str) -> Outline:
    return read_artwork(SHOP.artwork(art).data, art).outline


def _opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data)).convert("RGB")


def main(folder: Path) -> None:
    """Write them all."""
    folder.mkdir(parents=True, exist_ok=True)
    crest, _ = judged("crest.svg", "fernhollow-chair", "back-centre")
    front, details = job_sheets()[:2]
    pictures = {
        "drawing-and-wood.jpg": drawing_beside_wood("crest.svg", "fernhollow-chair", "back-centre"),
        "scan-and-weathered-wood.jpg": drawing_beside_wood(
            "scan.jpg", "fernhollow-chair", "back-centre", "weathered"
        ),
        "what-is-wrong.jpg": drawing_beside_wood("thin.png", "fernhollow-chair", "back-centre"),
        "where-it-carves.jpg": drawing_beside_wood("thin.png", "longwalk-bench", "back-rail"),
        "chair.jpg": _opened(piece_png(SHOP.model("fernhollow-chair"), [crest])),
        "across-slats.jpg": picture_across(),
        "job-sheet.png": front,
        "job-sheet-details.png": details,
        "bed.png": bed(),
    }
    for name, picture in pictures.items():
        picture.thumbnail((1400, 1400))
        picture.save(folder / name, quality=82, optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures"))
