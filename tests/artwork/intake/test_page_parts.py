"""Letters and pages with several logos: what is read of them, and what is offered beside it."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from tests.artwork.intake.made import area, codes, encoded, read

PAGE = (595, 842)


def paper(*logos: tuple[float, float, float], lines: int = 0) -> bytes:
    """An A4 page with rings at (x, y, radius) points, and lines of text as outlines: sixty small marks each."""
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=PAGE, invariant=True)
    for x, y, radius in logos:
        canvas.setLineWidth(radius / 2)
        canvas.circle(x, y, radius)
    for line in range(lines):
        for at in range(60):
            if at % 7:
                canvas.rect(72 + 7 * at, 560 - 16 * line, 4, 7, fill=1, stroke=0)
    canvas.showPage()
    canvas.save()
    return stream.getvalue()


def scanned(data: bytes) -> bytes:
    shown = pypdfium2.PdfDocument(data)[0].render(scale=2).to_numpy()[:, :, :3]
    return encoded(np.asarray(shown), "JPEG", quality=85)


def ring(radius: float) -> float:
    return float(np.pi * ((radius * 1.25) ** 2 - (radius * 0.75) ** 2))


def test_the_logo_of_a_letter_is_read_and_the_whole_offered() -> None:
    letter = paper((120, 740, 40), lines=12)
    reading = read(letter)
    assert (reading.kind, codes(reading)) == ("vector", {"parts-of-a-page"})
    assert area(reading) == pytest.approx(ring(40), rel=1e-3)
    assert [(c.words, c.taken) for c in reading.choices] == [
        ("Part 1 of the page", True),
        ("The whole page", False),
    ]
    assert len(read(letter, crop=(0.0, 0.0, 1.0, 1.0)).outline.contours) > 500


def test_the_logo_of_a_scanned_letter_is_read() -> None:
    reading = read(scanned(paper((120, 740, 40), lines=12)))
    assert "parts-of-a-page" in codes(reading)
    assert area(reading) / 4 == pytest.approx(ring(40), rel=0.05)


def test_several_logos_are_offered_each() -> None:
    two = paper((120, 700, 60), (450, 600, 50))
    reading = read(two)
    assert len(reading.outline.contours) == 4
    assert [choice.taken for choice in reading.choices] == [True, False]  # both look alike: one of them
    part = read(two, crop=reading.choices[1].wishes.crop)
    assert (part.kind, len(part.outline.contours)) == ("vector", 2)


@pytest.mark.parametrize("logos", [((300, 420, 200),), ((300, 520, 60), (300, 400, 40))])
def test_one_piece_of_art_is_read_whole(logos: tuple[tuple[float, float, float], ...]) -> None:
    reading = read(paper(*logos))
    assert not reading.choices
    assert not codes(reading)


def test_text_alone_is_no_letter() -> None:
    assert not read(paper(lines=12)).choices


def test_a_sign_with_few_words_is_read_whole() -> None:
    sign = np.full((900, 900), 255, np.uint8)
    cv2.circle(sign, (450, 350), 200, 0, 40)
    cv2.putText(sign, "QUILLFERN GARDEN", (200, 720), cv2.FONT_HERSHEY_DUPLEX, 1.6, 0, 4)
    assert "parts-of-a-page" not in codes(read(encoded(sign, "PNG")))
