"""From a kind of message and its facts to a mail with a plain and an HTML part.

The words of a kind are in one file under ``words/``: blocks ``subject``, ``body`` (paragraphs apart by an
empty line) and ``button``. Both parts are made from them, so they cannot say different things.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined, Template

from service.language.chosen import language
from service.language.loading import WordedLoader
from service.language.phrasebook import figures

_HERE = Path(__file__).parent
KINDS = frozenset(path.stem for path in (_HERE / "words").glob("*.j2"))
_LONGEST_SUBJECT = 150
# Everything that could end or fold a header line, and what readers cannot see.
_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u200b-\u200f\u202a-\u202e\u2066-\u2069\ufeff]+")


@dataclass(frozen=True)
class Envelope:
    """Whom a mail goes to and from, and what keeps it from being taken for another.

    Attributes:
        to: (name, address) pairs; an address as ``clean_address`` gives it.
        sender: the same for the sender.
        message_id: the same at every try, so that a mail that came twice can be told.
        at: when the event was.
    """

    to: Sequence[tuple[str, str]]
    sender: tuple[str, str]
    message_id: str
    at: datetime


def one_line(text: str) -> str:
    """Text fit for a header: control and invisible signs become single spaces."""
    return " ".join(_UNSEEN.sub(" ", text).split())


def write_mail(kind: str, facts: Mapping[str, Any], envelope: Envelope) -> EmailMessage:
    """A mail in the language spoken now.

    Args:
        kind: one of :data:`KINDS`.
        facts: what it is about; ``facts["url"]`` is where its button leads, ``facts["attached"]`` files that go with
            it, name → JSON text.
        envelope: to whom.

    Raises:
        KeyError: there is no such kind.
        jinja2.UndefinedError: a fact the words need is missing.
    """
    if kind not in KINDS:
        raise KeyError(kind)
    words = _environment(language()).get_template(f"words/{kind}.j2")
    subject = one_line(_block(words, "subject", facts))[:_LONGEST_SUBJECT]
    paragraphs = [part.strip() for part in _block(words, "body", facts).strip().split("\n\n") if part.strip()]
    button = one_line(_block(words, "button", facts))
    shared = {"subject": subject, "paragraphs": paragraphs, "button": button, "facts": facts}

    mail = EmailMessage(policy=SMTP)
    mail["From"] = _address(*envelope.sender)
    mail["To"] = [_address(*pair) for pair in envelope.to]
    mail["Subject"] = subject
    mail["Date"] = format_datetime(envelope.at)
    mail["Message-ID"] = f"<{envelope.message_id}>"
    mail["Auto-Submitted"] = "auto-generated"  # RFC 3834: no holiday answers, please
    mail.set_content(_environment(language()).get_template("frames/mail.txt.j2").render(shared))
    mail.add_alternative(
        _environment(language()).get_template("frames/mail.html.j2").render(shared), subtype="html"
    )
    for name, text in facts.get("attached", {}).items():
        mail.add_attachment(text.encode(), maintype="application", subtype="json", filename=name)
    return mail


def _address(name: str, address: str) -> Address:
    return Address(one_line(name), addr_spec=address)


def _block(template: Template, name: str, facts: Mapping[str, Any]) -> str:
    return "".join(template.blocks[name](template.new_context(dict(facts))))


@cache
def _environment(spoken: str) -> Environment:
    environment = Environment(
        loader=WordedLoader(_HERE, spoken),
        autoescape=lambda name: bool(name and name.endswith(".html.j2")),  # noqa: S701
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["language"] = spoken
    environment.filters["figures"] = figures
    return environment
