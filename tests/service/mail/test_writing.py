import email
import re
from email import policy
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import UndefinedError

from service.mail.writing import KINDS, Envelope, one_line, write_mail

from .conftest import NOW

FACTS = {
    "this": "0" * 64,
    "greeting": "Dear Imke Harrowdale,",
    "number": 12,
    "workshop": "Oxbarrow Benchworks",
    "client": "Imke Harrowdale",
    "until": "3 July 2026",
    "by": "Tamsin Oxbarrow",
    "words": "A little smaller & lower, please.\n\nAnd <b>thicker</b>.",
    "reason": "The stems are thinner than the bit can carve.",
    "slat": "wide centre slat",
    "lines": ["2 × Longwalk bench: wide centre slat, left slat.", "1 × Garden chair: top rail."],
    "price": "€ 184.00 for 3 pieces",
    "accepted": 2,
    "slats": ["wide centre slat", "left slat"],
    "wishes": ["top rail"],
    "why": ["change", "drop", "give-art", "outdate"],
    "url": "https://slats.example/link/splink_abc",
}
ENVELOPE = Envelope(
    to=[("Imke Harrowdale", "imke@quillfern.example")],
    sender=("Oxbarrow Benchworks", "workshop@oxbarrow.example"),
    message_id="m1@oxbarrow.example",
    at=NOW,
)


def read(mail):
    return email.message_from_bytes(bytes(mail), policy=policy.default)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_says_the_same_in_both_parts(kind):
    mail = read(write_mail(kind, FACTS, ENVELOPE))
    plain = mail.get_body(("plain",)).get_content()
    html = mail.get_body(("html",)).get_content()
    assert mail["To"].addresses[0].addr_spec == "imke@quillfern.example"
    assert mail["From"].addresses[0].display_name == "Oxbarrow Benchworks"
    assert mail["Subject"]
    assert FACTS["url"] in plain
    assert html.count(FACTS["url"]) == 2
    assert "Oxbarrow Benchworks" in plain and "Oxbarrow Benchworks" in html
    shown = unescape(re.sub(r"<[^>]+>", " ", html.split("</head>")[1]))
    assert set(re.findall(r"\w+", plain)) == set(re.findall(r"\w+", shown))
    assert max(len(line) for line in plain.splitlines() if "http" not in line) <= 78  # RFC 5322 §2.1.1
    assert not re.search(r"(?:src|href)=.(?!https://slats)", html)  # nothing is fetched from anywhere


def test_what_people_wrote_is_text_and_never_markup():
    mail = read(write_mail("change-asked", FACTS, ENVELOPE))
    html = mail.get_body(("html",)).get_content()
    assert "<b>" not in html
    assert "&lt;b&gt;thicker&lt;/b&gt;" in html
    assert "smaller &amp; lower" in html
    assert "<b>thicker</b>" in mail.get_body(("plain",)).get_content()


@pytest.mark.parametrize("bad", ["a\r\nBcc: all@evil.example", "a\nX: y", "a\u2028X: y", "a\x00b", "a\x0bb"])
@pytest.mark.parametrize("where", ["client", "name", "workshop"])
def test_no_fact_can_start_a_header(bad, where):
    facts = FACTS | ({where: bad} if where != "name" else {})
    to = [(bad if where == "name" else "Imke", "imke@quillfern.example")]
    sender = (bad if where == "workshop" else "Oxbarrow", "workshop@oxbarrow.example")
    mail = read(write_mail("submitted", facts, Envelope(to, sender, "m1@oxbarrow.example", NOW)))
    assert set(mail.keys()) == {
        "From", "To", "Subject", "Date", "Message-ID", "Auto-Submitted", "MIME-Version", "Content-Type",
    }  # fmt: skip
    assert [address.addr_spec for address in mail["To"].addresses] == ["imke@quillfern.example"]


@given(st.text(max_size=300))
def test_whatever_the_client_is_called_the_headers_stay_the_same(name):
    envelope = Envelope([(name, "imke@quillfern.example")], ENVELOPE.sender, ENVELOPE.message_id, NOW)
    try:
        name.encode()
    except UnicodeEncodeError:
        return
    mail = read(write_mail("submitted", FACTS | {"client": name}, envelope))
    assert len(mail.keys()) == 8
    assert [address.addr_spec for address in mail["To"].addresses] == ["imke@quillfern.example"]


@given(st.text())
def test_one_line_is_one_line(text):
    assert len(one_line(text).splitlines()) <= 1


def test_an_unknown_kind_and_a_missing_fact_are_faults_not_silence():
    with pytest.raises(KeyError):
        write_mail("../frames/mail.txt", FACTS, ENVELOPE)
    facts = {key: value for key, value in FACTS.items() if key != "number"}
    with pytest.raises(UndefinedError):
        write_mail("link", facts, ENVELOPE)
