"""What the figures of a price are for, in the language spoken now."""

from __future__ import annotations

from service.language.chosen import _
from service.language.phrasebook import told
from service.language.woods import WOODS, wood_words

_KEYS = {key.replace("-", " "): key for key in WOODS}
"""Woods as a quote writes them."""


def figure_words(words: str) -> str:
    """``carving: Longwalk bench, back rail``, with what it is for said again and names left as they are."""
    said = told(words)
    what, mark, name = words.partition(": ")
    if said != words or not mark:
        return said
    named = wood_words(_KEYS[what]) if what in _KEYS else _(what)
    return f"{named}: {figure_words(name)}"
