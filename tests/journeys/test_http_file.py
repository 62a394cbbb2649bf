"""``docs/journey.http`` does what it says: each of its requests is sent as it stands, one after another."""

from __future__ import annotations

import io
import re
import time
import uuid
import zipfile
from dataclasses import dataclass
from functools import reduce
from pathlib import Path

import httpx2

from seeds.shop import load
from tests.running import API, Running

PAGE = Path(__file__).parents[2] / "docs" / "journey.http"
EVERY = (
    *("orders.read", "orders.write", "orders.sign", "orders.payments", "orders.release"),
    *("batches.read", "batches.write"),
)
_PLACE = re.compile(r"{{([^{}]+)}}")
_AGAIN = re.compile(r"# again until (\$\S+) is (\S+)")
LONGEST = 30.0


@dataclass(frozen=True)
class Sent:
    """One request of the file, with its values not filled in."""

    name: str
    method: str
    url: str
    headers: dict[str, str]
    body: str
    until: tuple[str, str] | None


def requests() -> list[Sent]:
    _, *parts = PAGE.read_text(encoding="utf-8").split("\n###")
    return [_request(part) for part in parts]


def _request(part: str) -> Sent:
    head, _, body = part.partition("\n\n")
    lines = head.splitlines()[1:]
    name = next(line.removeprefix("# @name ") for line in lines if line.startswith("# @name "))
    again = next(filter(None, map(_AGAIN.fullmatch, lines)), None)
    first, *headers = (line for line in lines if not line.startswith("#"))
    method, url = first.split()
    pairs = (line.partition(": ") for line in headers)
    until = None if again is None else (again[1], again[2])
    return Sent(name, method, url, {key: value for key, _, value in pairs}, body.strip(), until)


def at(body: object, path: str) -> object:
    """The value at a path such as ``$.lines[0].id`` (of RFC 9535, names and indices alone)."""
    steps = re.findall(r"\.(\w+)|\[(\d+)\]", path)
    return reduce(lambda held, step: held[step[0]] if step[0] else held[int(step[1])], steps, body)  # type: ignore[index]


class Filled:
    """Values of the file's ``{{…}}``: those set at its beginning, and what was answered so far."""

    def __init__(self, values: dict[str, str]) -> None:
        self._values = values
        self.answers: dict[str, httpx2.Response] = {}

    def __call__(self, text: str) -> str:
        return _PLACE.sub(lambda found: self._value(found[1]), text)

    def _value(self, named: str) -> str:
        if named in self._values:
            return self._values[named]
        name, _, what = named.partition(".response.")
        if what.startswith("headers."):
            return self.answers[name].headers[what.removeprefix("headers.")]
        return str(at(self.answers[name].json(), what.removeprefix("body.")))


def test_the_http_file_takes_an_order_from_the_site_to_the_archive(running: Running):
    made = running.maker().do("POST", "/tokens", status=201, json={"name": "the garden", "scopes": EVERY})
    who = next(person for person in load().people if person.role == "maker")
    filled = Filled(
        {
            "host": running.url + API,
            "workshop": load().key,
            "token": made["secret"],
            "maker_email": who.email,
            "maker_password": load().password,
            "number": f"WEB-{uuid.uuid4().hex[:8]}",
        }
    )
    with httpx2.Client() as client:
        for sent in requests():
            filled.answers[sent.name] = answered(client, sent, filled)
    archive = zipfile.ZipFile(io.BytesIO(filled.answers["archive"].content))
    assert any(name.endswith(".dxf") for name in archive.namelist())
    picture = httpx2.get(running.url + str(at(filled.answers["addresses"].json(), "$.items[0].url")))
    assert picture.content.startswith(b"\x89PNG")


def answered(client: httpx2.Client, sent: Sent, filled: Filled) -> httpx2.Response:
    body: bytes | str = filled(sent.body)
    if sent.body.startswith("< "):
        body = (PAGE.parent / sent.body.removeprefix("< ")).read_bytes()
    headers = {name: filled(value) for name, value in sent.headers.items()}
    end = time.monotonic() + LONGEST
    while True:
        answer = client.request(sent.method, filled(sent.url), headers=headers, content=body or None)
        assert answer.status_code < 400, f"{sent.name}: {answer.status_code} {answer.text[:400]}"
        if sent.until is None or str(at(answer.json(), sent.until[0])) == sent.until[1]:
            return answer
        assert time.monotonic() < end, f"{sent.name}: {answer.text[:400]}"
        time.sleep(0.05)
