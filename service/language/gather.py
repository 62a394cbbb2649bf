"""Gathers every message afresh and brings the catalogues up to it: ``python -m service.language.gather``.

New messages come in without words, messages that are gone go out. Nothing is guessed, so no entry is ever fuzzy.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po

from artwork.findings.hints import EITHER_WAY, GROWING, without
from service.language.catalogues import LOCALE
from service.language.chosen import ENGLISH, LANGUAGES
from service.language.sources import sentences
from service.language.templates import messages

ROOT = Path(__file__).parent.parent.parent
_BEGUN = datetime(2026, 11, 30, tzinfo=UTC)
_KEYWORDS = {"_": None, "N_": None, "L_": None, "ngettext": (1, 2)}
_WIDTH = 118


class Found(NamedTuple):
    """A message where it stands: a file below the repository's root, and the message of one, with that of many."""

    where: str
    text: str
    many: str | None = None


_AT_BENCH = ("bench", "settings")
"""Folders of templates that only makers and helpers see."""
_BENCH_VIEWS = frozenset({
    "approving", "batches", "bench", "bench_looking", "boards", "first_hour", "items", "machine", "marks",
    "model_settings", "new_models", "outcomes", "prices", "programs", "queue", "second_step", "settings",
    "shop_settings", "test_boards", "today", "wellness",
})  # fmt: skip
"""Modules of pages that only they see."""
_SHEETS = "batches"
"""The room of what is printed for the bench."""


def pages() -> Iterator[Found]:
    """What clients are told, and everybody: templates, mails, what our scripts say, what is marked in Python."""
    for path in _templates():
        if path.parent.name not in _AT_BENCH:
            yield from _worded(path)
    for path in sorted((ROOT / "service/mail/words").glob("*.j2")):
        yield from _worded(path)
    for path in sorted((ROOT / "service/pages/static/js").glob("*.js")):
        yield from _marked(path, "javascript")
    for path in _modules():
        if path.stem not in _BENCH_VIEWS and path.parent.name != _SHEETS:
            yield from _marked(path, "python")


def bench() -> Iterator[Found]:
    """What only the bench says."""
    known = {(found.text, found.many) for found in pages()}
    for path in _templates():
        if path.parent.name in _AT_BENCH:
            yield from (found for found in _worded(path) if (found.text, found.many) not in known)
    for path in _modules():
        if path.stem in _BENCH_VIEWS or path.parent.name == _SHEETS:
            found_here = _marked(path, "python")
            yield from (found for found in found_here if (found.text, found.many) not in known)


_ENGINE = (
    "across", "across_fit", "drawings/frame", "errors", "findings", "floors", "gaps", "intake", "lettering",
    "machining", "placing", "remedies", "repair", "slat_shape", "tooling", "versions",
)  # fmt: skip
_SERVICE = (
    "access/passwords", "batches/bench_words", "batches/cautions", "boards", "orders/errors", "orders/file_remarks",
    "orders/installation", "orders/items", "orders/limits", "orders/order", "orders/program_checks", "orders/quote",
    "orders/quoting", "orders/shop_rules", "orders/standing_mark", "orders/states", "orders/suites", "orders/texts",
    "orders/versions", "orders/wellness", "rest/in_process", "rest/problems", "rest/validation_errors", "usecases",
)  # fmt: skip
"""Modules, and rooms of them, whose sentences reach people through the API."""


_WORD_LISTS = frozenset({"colour_words"})
"""Modules whose single words are put into sentences too."""


def told() -> Iterator[Found]:
    """What the engine and the API tell."""
    for root, rooms in (("artwork", _ENGINE), ("service", _SERVICE)):
        for room in rooms:
            path = ROOT / root / room
            for module in [path.with_suffix(".py")] if not path.is_dir() else sorted(path.rglob("*.py")):
                for text in sentences(module.read_text(), words=module.stem in _WORD_LISTS):
                    yield Found(_name(module), text)
                    if room == "findings" and module.stem in ("lands", "lines", "points"):
                        yield from (Found(_name(module), hint) for hint in _shortened(text))


def _shortened(hint: str) -> Iterator[str]:
    """What is left of a hint where some of its alternatives cannot be followed."""
    for dropped in (GROWING, EITHER_WAY, GROWING + EITHER_WAY):
        kept = without(hint, dropped)
        if ", or " in hint and kept != hint and not kept.startswith("{"):
            yield kept


def _templates() -> list[Path]:
    return sorted((ROOT / "service/pages/templates").rglob("*.html"))


def _modules() -> list[Path]:
    rooms = ("pages", "mail", "batches")
    found = (path for room in rooms for path in (ROOT / "service" / room).rglob("*.py"))
    return sorted([*found, ROOT / "service/language/woods.py"])


def _worded(path: Path) -> Iterator[Found]:
    for message in messages(path.read_text()):
        yield Found(_name(path), message.text, message.many)


def _marked(path: Path, method: str) -> Iterator[Found]:
    """What is marked by gettext's own names."""
    with path.open("rb") as file:
        for _line, message, _comments, _context in extract(
            method, file, _KEYWORDS, options={"parse_template_string": True}
        ):
            if isinstance(message, str):
                yield Found(_name(path), message)
            else:
                yield Found(_name(path), str(message[0]), str(message[1]))


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


DOMAINS = {"pages": pages, "bench": bench, "told": told}
"""Every catalogue by what it is gathered from."""


def gathered(domain: str) -> Catalog:
    """A catalogue of everything there is to say, without words yet."""
    fresh = Catalog(project="slatproof", domain=domain, creation_date=_BEGUN, charset="utf-8")
    for found in DOMAINS[domain]():
        text = found.text if found.many is None else (found.text, found.many)
        fresh.add(text, locations=[(found.where, None)])  # type: ignore[list-item]
    return fresh


def path_of(language: str, domain: str) -> Path:
    """Where a catalogue is kept."""
    return LOCALE / language / "LC_MESSAGES" / f"{domain}.po"


def brought_up(language: str, domain: str) -> tuple[Catalog, bytes]:
    """A catalogue as it has to be, and its file's bytes."""
    path = path_of(language, domain)
    kept = Catalog(language, domain)
    if path.exists():
        with path.open("rb") as file:
            kept = read_po(file, language, domain)
    new = gathered(domain)
    for message in new:
        known = kept.get(message.id) if message.id else None
        if known is not None and isinstance(known.id, str) == isinstance(message.id, str):
            message.string = known.string
    new.locale = language
    new.revision_date = _BEGUN
    new.last_translator, new.language_team, new.header_comment = "", "", f"# {LANGUAGES[language]}: {domain}"
    out = io.BytesIO()
    write_po(out, new, width=_WIDTH, sort_output=True, include_lineno=False)
    return new, out.getvalue()


def main() -> None:
    """Bring every catalogue up to what there is to say."""
    for language in LANGUAGES:
        for domain in DOMAINS if language != ENGLISH else ():
            path_of(language, domain).parent.mkdir(parents=True, exist_ok=True)
            path_of(language, domain).write_bytes(brought_up(language, domain)[1])


if __name__ == "__main__":
    main()
