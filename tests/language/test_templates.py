"""Words of templates are found where they stand, and a template is otherwise left as it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.language.gather import ROOT
from service.language.templates import Message, in_language, messages

TEMPLATES = sorted((ROOT / "service/pages/templates").rglob("*.html")) + sorted(
    (ROOT / "service/mail/words").glob("*.j2")
)


def _said(source: str) -> list[str]:
    return [message.text for message in messages(source)]


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("<p>Sign it</p>", ["Sign it"]),
        ('<p>Go to <a href="/x?{{ n }}">order {{ order.number }}</a>.</p>', ["Go to <a>order {number}</a>."]),
        ('<img alt="The {{ slat.name }}" src="{{ at }}"><b>{{ name }}</b>', ["The {name}"]),
        ("<p>{% if late %}Too late{% else %}In time{% endif %}</p>", ["Too late", "In time"]),
        ('{{ field("name", "Your name", extra=\'min="1" max="9"\') }}', ["Your name"]),
        (
            '<p class="{{ "no way" if bad }}">{{ "Sent" if state == "sent" else "Not yet" }}</p>',
            ["Sent", "Not yet"],
        ),
        ('<li><a href="/a">One</a> <a href="/b">Two</a></li>', ["One", "Two"]),
        ("<style>p { color: red }</style><script>let some = words</script>", []),
        ('<use href="/order/{{ id }}/picture"/>{{ x | size }} × {{ y | size }}', []),
        ("Dear you,\n\nthis is\nyour link.", ["Dear you,", "this is your link."]),
    ],
)
def test_what_is_read_by_people_is_a_message(source, said):
    assert _said(source) == said


def test_a_count_is_a_message_of_two_forms():
    (found,) = messages('{{ pieces | plural("piece") }}')
    assert (found.text, found.many) == ("{count} piece", "{count} pieces")


def test_words_take_the_place_of_a_message_with_its_values_and_links():
    source = '<p class="x">Go to <a href="/o/{{ id }}">order {{ number }}</a> <em>now</em>.</p>'
    words = {"Go to <a>order {number}</a> <em>now</em>.": "<em>Jetzt</em> zum <a>Auftrag {number}</a>!"}
    assert in_language(source, lambda message: words[message.text]) == (
        '<p class="x"><em>Jetzt</em> zum <a href="/o/{{ id }}">Auftrag {{ number }}</a>!</p>'
    )


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_our_templates_come_through_unchanged(path: Path):
    source = path.read_text()

    def same(message: Message) -> str | tuple[str, ...]:
        return message.text if message.many is None else (message.text, message.many)

    def plain(text: str) -> str:
        return "".join(text.split()).replace("'", '"')

    counted = plain(in_language(source, same))
    for message in messages(source):
        if message.many is not None:
            one, many = (form.removeprefix("{count} ") for form in (message.text, message.many))
            counted = counted.replace(plain(f'plural("{one}", "{many}")'), plain(f'plural("{one}")'))
            source = source.replace(f'plural("{one}", "{many}")', f'plural("{one}")')
    assert counted == plain(source)
