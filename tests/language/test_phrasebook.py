"""Sentences that the engine and the API tell in English, said again in the reader's language."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from artwork.axis import study
from artwork.cut import Cut
from artwork.findings import check
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.remedies import remedies
from seeds.shop import load
from service.language.catalogues import catalogue
from service.language.chosen import spoken
from service.language.phrasebook import TOLD, figures, told, told_answer

MESSAGES = [
    message for message in catalogue("de", TOLD) if message.id and not re.search(r"\}s\b", str(message.id))
]
"""All but that which says a colour's name in the plural."""
_PLACE = re.compile(r"\{\w*\}")


def _said(message: str, value: str) -> str:
    return _PLACE.sub(value, message)


def test_every_message_is_recognised_with_figures_in_it():
    wrong = []
    with spoken("de"):
        for message in MESSAGES:
            english, german = str(message.id), str(message.string)
            if told(_said(english, "2.5")) != _said(german, "2,5"):
                wrong.append((english, told(_said(english, "2.5"))))
    assert not wrong, wrong[:10]


def test_what_the_engine_tells_of_real_drawings_is_told_in_german():
    """Every sentence about the demo's drawings, at sizes that carve and at sizes that do not, is known as a whole."""
    shop, seen = load(), set()
    slats = [slat.slat for slat in shop.models[0].slats if slat.carries_art]
    for name in ("crest.svg", "thin.png"):
        read = read_artwork(shop.artwork(name).data, name)
        anatomy = study(read.outline)
        seen |= {remark.message for remark in read.remarks}
        largest = largest_fit(read.outline, slats[0], shop.allowances)
        for share in (1.0, 0.45, 1.2):
            placed = replace(largest, scale=largest.scale * share)
            cut = Cut(read.outline, slats[0], placed, shop.bits[0], shop.allowances)
            judged = check(cut, anatomy)
            seen |= {judged.sentence, judged.figures.sensitivity, *judged.figures.assumptions}
            for finding in judged.findings:
                seen |= {finding.message, finding.cure}
        if name == "crest.svg":
            cut = replace(cut, placement=replace(largest, scale=largest.scale * 0.45))
            seen |= {remedy.sentence for remedy in remedies(cut, anatomy, slats[:3], shop.bits)}
    assert len(seen) > 60
    with spoken("de"):
        unknown = sorted(text for text in seen if text and told(text) == text)
    assert not unknown


@pytest.mark.parametrize(
    ("english", "german"),
    [
        (
            "This will not carve well as it is: some lines are too thin to last and sharp points would lose most of "
            "their length.",
            "So lässt es sich nicht gut fräsen: einige Linien sind zu dünn, um zu halten und spitze Enden würden den "
            "größten Teil ihrer Länge verlieren.",
        ),
        (
            "At 2 places: A line 0.74 mm (0.029 in) wide, thin over 4.77 mm (0.188 in), needs 1.89 mm (0.075 in) "
            "here. At worst nothing of it is left; 0.80 mm (0.032 in) still reads.",
            "An 2 Stellen: Eine Linie ist 0,74 mm (0,029 in) breit, dünn auf 4,77 mm (0,188 in), nötig sind hier "
            "1,89 mm (0,075 in). Im schlimmsten Fall bleibt nichts davon; ab 0,80 mm (0,032 in) ist sie zu lesen.",
        ),
        (
            "Put it on the slat 'back, left', 41.7 mm (1 21/32 in) wide: then it carves, with remarks.",
            "Setzen auf die Latte „back, left“, 41,7 mm (1 21/32 in) breit: dann lässt es sich fräsen, mit Hinweisen.",
        ),
        ("Make the roof red, please.", "Make the roof red, please."),
        ("This will not carve well as it is: because I say so.",) * 2,
    ],
)
def test_a_sentence_is_said_wholly_or_left_alone(english, german):
    with spoken("de"):
        assert told(english) == german
    assert told(english) == english


def test_an_answers_sentences_and_money_are_told_and_nothing_that_somebody_wrote():
    answer = {
        "name": "The file is empty.",
        "words": "The file is empty.",
        "checks": [{"message": "The file is empty.", "file_remarks": {"pages-1": "The file is empty."}}],
        "total_words": "USD 1,377.00",
    }
    with spoken("de"):
        assert told_answer(answer) == {
            "name": "The file is empty.",
            "words": "The file is empty.",
            "checks": [
                {"message": "Die Datei ist leer.", "file_remarks": {"pages-1": "Die Datei ist leer."}}
            ],
            "total_words": "USD 1.377,00",
        }
        assert figures("USD 0.95") == "USD 0,95"
    assert told_answer(answer) is answer
