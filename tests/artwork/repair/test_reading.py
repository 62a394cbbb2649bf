"""Repaired words are still read as the words by a reader that knows nothing of the engine (Debian's tesseract)."""

from __future__ import annotations

import pytest

from artwork.axis import study
from artwork.lettering.setting import set_lines
from artwork.repair import AS_PLACED, repairs
from tests.repairing.pieces import faces
from tests.repairing.reading import PRESENT, plain, read
from tests.repairing.sheet import laid, slat

pytestmark = pytest.mark.skipif(not PRESENT, reason="Debian's tesseract-ocr is not installed")


@pytest.mark.parametrize(
    ("words", "face"), [("Juniper", "NimbusRoman-Regular"), ("Otterburn", "NimbusSans-Regular")]
)
def test_a_repaired_word_is_read_as_the_word(words, face):
    cut = laid(set_lines([words], faces()[face]).outline, slat("wide"))
    assert read(cut.placed().contours) == plain(words)
    repair = repairs(cut, study(cut.outline), (), ways=AS_PLACED).repairs[0]
    assert read(repair.cut.placed().contours) == plain(words)
