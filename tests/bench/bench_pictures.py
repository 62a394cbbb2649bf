"""Pictures people sign: how long one takes."""

from __future__ import annotations

from artwork.cut import Cut
from artwork.intake import read_artwork
from artwork.piece_picture import piece_png
from artwork.placing import largest_fit
from artwork.preview import preview_png
from seeds.shop import load
from tests.bench.harness import Measured, alone, case

SHOP = load()


def _crest_on_the_wide_slat() -> Cut:
    outline = read_artwork(SHOP.artwork("crest.svg").data, "crest.svg").outline
    slat = SHOP.model("fernhollow-chair").slat("back-centre")
    return Cut(outline, slat, largest_fit(outline, slat, SHOP.allowances), SHOP.bits[0], SHOP.allowances)


@case(issue=6, name="preview of a carved slat, relief to PNG", n="140 × 860 mm at 4 px/mm", target=0.3)
def preview_of_a_slat() -> Measured:
    cut = _crest_on_the_wide_slat()
    return alone(lambda: preview_png(cut, None, 4.0))


@case(issue=6, name="picture of the whole piece", n="chair, 1600 px", target=1.5)
def picture_of_the_piece() -> Measured:
    cut = _crest_on_the_wide_slat()
    return alone(lambda: piece_png(SHOP.model("fernhollow-chair"), [cut]), rounds=3)
