"""Text → glyphs where they stand: kerning, ligatures, accents, joined letters (HarfBuzz)."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

import numpy as np
import uharfbuzz as hb
from numpy.typing import NDArray

from artwork.curves import Floats
from artwork.errors import EngineError
from artwork.lettering.direction import Stretch, stretches
from artwork.lettering.typefaces import Typeface, typefaces

JOINED = frozenset({"Arab", "Syrc", "Mong", "Nkoo", "Mand", "Rohg", "Adlm"})
"""Scripts whose letters are joined in writing: letter spacing would tear them apart."""


@dataclass(frozen=True, eq=False)
class GlyphLine:
    """One line of glyphs from left to right, in font units, the origin at the start of the baseline.

    Attributes:
        glyphs: shape (n,), glyph numbers of the font.
        at: shape (n, 2), where each glyph's own origin stands.
        middles: shape (n,), x of the middle of the advance of the letter (for a mark: of its letter).
        advance: width of the whole line, without letter spacing after the last letter.
    """

    glyphs: NDArray[np.int64]
    at: Floats
    middles: Floats
    advance: float


def shape_line(text: str, face: Typeface, tracking: float = 0.0) -> GlyphLine:
    """One line of text as glyphs.

    Args:
        text: without line breaks.
        face: the typeface.
        tracking: letter spacing added after every letter, ems; joined scripts are left as they are.

    Raises:
        EngineError: ``missing-glyph``, naming every character the typeface has no letter for.
    """
    text = unicodedata.normalize("NFC", text)
    refuse_missing(text, face)
    pen, glyphs, at, middles, last = 0.0, [], [], [], 0.0
    for stretch in stretches(text):
        spacing = 0.0 if stretch.script in JOINED else tracking * face.em
        infos, positions = _shaped(stretch, face.font, spacing != 0)
        for cluster in _clusters(infos):
            width = sum(positions[k].x_advance for k in cluster)
            x = pen
            for k in cluster:
                glyphs.append(infos[k].codepoint)
                at.append((x + positions[k].x_offset, positions[k].y_offset))
                middles.append(pen + width / 2)
                x += positions[k].x_advance
            pen += width + spacing
            last = spacing
    return GlyphLine(
        np.array(glyphs, np.int64),
        np.array(at, float).reshape(-1, 2),
        np.array(middles, float),
        pen - last,
    )


def refuse_missing(text: str, face: Typeface) -> None:
    """Raises ``missing-glyph`` where the typeface lacks a character; never another letter in its place."""
    missing: dict[str, list[str]] = {}
    for at, character in enumerate(text, 1):
        if not _has(face, character):
            missing.setdefault(character, []).append(str(at))
    if not missing:
        return
    named = ", ".join(f"{called(character)} at {', '.join(at)}" for character, at in missing.items())
    others = [other.name for other in typefaces() if all(_has(other, c) for c in text)]
    cure = f"Choose {' or '.join(others)}." if others else "Leave it out or write it otherwise."
    raise EngineError("missing-glyph", f"{face.name} has no letter for {named} of its {len(text)}.", cure)


def called(character: str) -> str:
    """A character as people can find it in their text: itself, its code point and its Unicode name."""
    name = unicodedata.name(character, "unnamed character")
    shown = f"“{character}” " if character.isprintable() else ""
    return f"{shown}(U+{ord(character):04X} {name})"


def _has(face: Typeface, character: str) -> bool:
    """Joiners and marks of direction (Cf) need no letter; control characters (Cc) have none."""
    category = unicodedata.category(character)
    return category == "Cf" or (category != "Cc" and ord(character) in face.characters)


def _shaped(
    stretch: Stretch, font: hb.Font, spaced: bool
) -> tuple[list[hb.GlyphInfo], list[hb.GlyphPosition]]:
    buffer = hb.Buffer()
    buffer.add_str(stretch.text)
    buffer.direction = "ltr" if stretch.rightward else "rtl"
    buffer.script = stretch.script
    buffer.language = "und"  # never guessed: the guess is the locale of the machine
    # Letters set apart are not drawn as one (the CSS and OpenType rule for letter spacing).
    hb.shape(font, buffer, {"liga": not spaced, "clig": not spaced})
    return list(buffer.glyph_infos), list(buffer.glyph_positions)


def _clusters(infos: list[hb.GlyphInfo]) -> list[list[int]]:
    """Indices of glyphs that belong together (a letter and its marks), in visual order."""
    groups: list[list[int]] = []
    for k, info in enumerate(infos):
        if groups and infos[groups[-1][-1]].cluster == info.cluster:
            groups[-1].append(k)
        else:
            groups.append([k])
    return groups
