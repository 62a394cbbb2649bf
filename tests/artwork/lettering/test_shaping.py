"""Order, kerning, joining and missing letters."""

from __future__ import annotations

import numpy as np
import pytest
from bidi import get_display
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from artwork.errors import EngineError
from artwork.lettering.direction import stretches
from artwork.lettering.shaping import shape_line
from artwork.lettering.typefaces import typeface

LATO, SERIF = typeface("lato-bold"), typeface("source-serif-bold")
HEEBO, TAJAWAL = typeface("heebo-bold"), typeface("tajawal-bold")

MIXED = st.text(st.sampled_from("abÄz 12().,-–אבשםלִמحدعلي"), max_size=24)


def seen(line: str) -> str:
    """The stretches as one string from left to right, brackets not yet mirrored."""
    return "".join(part.text if part.rightward else part.text[::-1] for part in stretches(line))


@given(MIXED)
def test_the_order_is_that_of_the_bidirectional_algorithm(line):
    # the library's own reordering; trailing spaces aside, which it moves and a fitted text never has
    line = line.strip()
    assert seen(line) == get_display(line)


def test_a_stretch_is_of_one_script():
    assert [(part.text, part.script) for part in stretches("Мир peace")] == [
        ("Мир ", "Cyrl"),
        ("peace", "Latn"),
    ]


@pytest.mark.parametrize(
    ("line", "shown"),
    [  # worked out by hand after UAX #9, brackets by rule N0
        ("Anna (שלום) 2024", "Anna (םולש) 2024"),
        ("שלום (2024)", ")2024( םולש"),
        ("שלום (Anna) x", "x )Anna( םולש"),
        ("محمد 12", "12 دمحم"),
        ("levels: [\n 9", "levels: [\n 9"),
        ("", ""),
    ],
)
def test_mixed_lines_read_from_their_own_side(line, shown):
    assert seen(line) == shown


def test_brackets_in_right_to_left_text_open_towards_it():
    opening, closing = (HEEBO.font.get_nominal_glyph(ord(sign)) for sign in "()")
    glyphs = shape_line("שלום (2024)", HEEBO).glyphs.tolist()
    assert glyphs.index(opening) < glyphs.index(closing)


def test_points_stay_on_their_letter():
    pointed, bare = shape_line("שָׁלוֹם", HEEBO), shape_line("שלום", HEEBO)
    assert pointed.advance == pytest.approx(bare.advance, rel=0.02)
    assert len(pointed.glyphs) >= len(bare.glyphs)
    assert np.isin(pointed.middles.round(3), np.unique(pointed.middles.round(3))).all()


def test_arabic_letters_are_joined():
    # the same letter takes other forms at the start, in the middle, at the end and alone
    alone = shape_line("ه", TAJAWAL).glyphs
    forms = shape_line("ههه", TAJAWAL).glyphs
    assert len({*forms.tolist(), *alone.tolist()}) == 4


def test_arabic_is_not_torn_apart_by_letter_spacing():
    assert shape_line("محمد", TAJAWAL, 0.2).advance == shape_line("محمد", TAJAWAL).advance
    assert shape_line("abc", TAJAWAL, 0.2).advance == pytest.approx(
        shape_line("abc", TAJAWAL).advance + 2 * 0.2 * TAJAWAL.em
    )


def kern_of(face, left: str, right: str) -> float:
    """Pair adjustment by fontTools from the GPOS table: first matching pair of any kern lookup."""
    import io

    font = TTFont(io.BytesIO(face.data))
    names = font.getBestCmap()
    a, b = names[ord(left)], names[ord(right)]
    table = font["GPOS"].table
    wanted = {
        i
        for f in table.FeatureList.FeatureRecord
        if f.FeatureTag == "kern"
        for i in f.Feature.LookupListIndex
    }
    for index in sorted(wanted):
        for table_part in table.LookupList.Lookup[index].SubTable:
            sub = getattr(table_part, "ExtSubTable", table_part)
            if not hasattr(sub, "Coverage") or a not in sub.Coverage.glyphs:
                continue
            if sub.Format == 1:
                for record in sub.PairSet[sub.Coverage.glyphs.index(a)].PairValueRecord:
                    if record.SecondGlyph == b:
                        return record.Value1.XAdvance
            else:
                first = sub.ClassDef1.classDefs.get(a, 0)
                second = sub.ClassDef2.classDefs.get(b, 0)
                value = sub.Class1Record[first].Class2Record[second].Value1
                if value and getattr(value, "XAdvance", 0):
                    return value.XAdvance
    return 0.0


@pytest.mark.parametrize("pair", ["AV", "To", "LT", "HH", "Ty"])
@pytest.mark.parametrize("face", [LATO, SERIF], ids=["lato", "serif"])
def test_kerning_is_the_fonts_own(face, pair):
    apart = sum(shape_line(letter, face).advance for letter in pair)
    assert shape_line(pair, face).advance - apart == pytest.approx(kern_of(face, *pair))


def test_ligatures_are_set_unless_letters_are_spaced():
    assert len(shape_line("fi", LATO).glyphs) == 1
    assert len(shape_line("fi", LATO, 0.05).glyphs) == 2


def test_composed_and_decomposed_accents_are_the_same():
    one, two = shape_line("Zoë", LATO), shape_line("Zoe\u0308", LATO)
    assert one.glyphs.tolist() == two.glyphs.tolist()
    assert one.advance == two.advance


def test_a_missing_letter_is_named_and_never_replaced():
    with pytest.raises(EngineError) as refused:
        shape_line("Rosa 🌿 你", LATO)
    assert refused.value.code == "missing-glyph"
    assert "“🌿” (U+1F33F HERB) at 6" in refused.value.message and "U+4F60" in refused.value.message
    assert refused.value.message.endswith("at 8 of its 8.")
    assert "R" not in refused.value.message.replace("HERB", "").split("for", 1)[1].split("(")[0]


def test_the_cure_names_a_typeface_that_has_the_letters():
    with pytest.raises(EngineError, match="Choose Heebo Bold"):
        shape_line("שלום", LATO)
    with pytest.raises(EngineError, match="Choose Source Serif Pro Bold"):
        shape_line("Мир", LATO)
    with pytest.raises(EngineError, match="Leave it out"):
        shape_line("שלום 你", LATO)


@given(st.text(max_size=40).filter(lambda text: not set(text) & set("\n\r")))
def test_any_text_is_shaped_or_refused_by_name(text):
    try:
        line = shape_line(text, SERIF)
    except EngineError as refused:
        assert refused.code == "missing-glyph" and "U+" in refused.message
    else:
        assert (line.glyphs > 0).all()  # 0 is the box that stands for a missing letter
        assert np.isfinite(line.at).all()


def test_the_locale_of_the_machine_changes_nothing(monkeypatch):
    import locale

    before = shape_line("file İı fi", SERIF).glyphs.tolist() if ord("İ") in SERIF.characters else []
    for name in ("tr_TR.UTF-8", "C.UTF-8", "C"):
        try:
            locale.setlocale(locale.LC_ALL, name)
        except locale.Error:
            continue
        assert shape_line("file İı fi", SERIF).glyphs.tolist() == before
    locale.setlocale(locale.LC_ALL, "C.UTF-8")
