"""What our scripts say, in the reader's language: a page brings it along, scripts look it up."""

from __future__ import annotations

import json
from pathlib import Path

from babel.messages.extract import extract

from service.language.catalogues import translations
from service.language.chosen import ENGLISH

_MARKED = {"_": None, "N_": None}
_READ = {"parse_template_string": True}
_SCRIPTS = Path(__file__).parent / "static" / "js"


def script_words(language: str) -> str:
    """Message → words of all that scripts say, as JSON that may stand within a page; empty for English."""
    if language == ENGLISH:
        return ""
    known = translations(language)
    words: dict[str, str] = {}
    for path in sorted(_SCRIPTS.glob("*.js")):
        with path.open("rb") as file:
            for _line, message, _comments, _context in extract("javascript", file, _MARKED, options=_READ):
                words[str(message)] = known.gettext(str(message))
    return json.dumps(words, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
