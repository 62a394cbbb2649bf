"""What comes in by a page's form."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from service.pages.calling import visit_of

FIELDS = 400
FILES = 1
_LONGEST_KEY = 40


class ForeignFormError(Exception):
    """The form was not made for this browser, or is older than the sign-in: show the page again."""


@dataclass(frozen=True)
class SentFile:
    """A file chosen in a form."""

    data: bytes
    name: str
    content_type: str


@dataclass(frozen=True)
class Sent:
    """A form's fields; a field that is missing is empty."""

    form: FormData

    def text(self, name: str) -> str:
        """One field, without blanks around it and with one kind of line ends."""
        value = self.form.get(name, "")
        return value.replace("\r\n", "\n").strip() if isinstance(value, str) else ""

    def typed(self, name: str) -> str:
        """A password as it was typed, spaces and all."""
        return str(self.form.get(name, ""))

    def texts(self, name: str) -> list[str]:
        """Every value of a field."""
        return [value for value in self.form.getlist(name) if isinstance(value, str)]

    def flag(self, name: str) -> bool:
        """Whether a box was ticked."""
        return bool(self.text(name))

    def whole(self, name: str) -> int | None:
        """A whole number, ``None`` for anything else."""
        text = self.text(name)
        return int(text) if text.lstrip("-").isdecimal() and len(text) < 10 else None

    def number(self, name: str) -> float | None:
        """A number, with a point or a comma; ``None`` for anything else."""
        try:
            value = float(self.text(name).replace(",", "."))
        except ValueError:
            return None
        return value if abs(value) < 1e9 else None

    def values(self) -> dict[str, str]:
        """Every text field's last value, to fill the form in again."""
        return {key: value for key, value in self.form.multi_items() if isinstance(value, str)}

    async def file(self, name: str) -> SentFile | None:
        """The file chosen, ``None`` where none was."""
        value = self.form.get(name)
        if not isinstance(value, UploadFile) or not value.filename:
            return None
        return SentFile(await value.read(), value.filename, value.content_type or "application/octet-stream")


async def _large_form(request: Request) -> FormData:
    visit, order = visit_of(request), request.path_params.get("order")
    if order is not None or request.url.path.startswith("/bench"):
        await visit.know(order)
    async with visit.taking_in():
        return await request.form(max_files=FILES, max_fields=FIELDS)


async def read_form(request: Request) -> Sent:
    """The form that was sent. Raises ForeignFormError unless it carries this browser's token.

    A form that may hold a file is read once it is known who sends it, where that is needed, and once there is room.
    CallError.
    """
    if request.headers.get("content-type", "").startswith("multipart/"):
        form = await _large_form(request)
    else:
        form = await request.form(max_files=FILES, max_fields=FIELDS)
    token = form.get("form_token", "")
    good = getattr(request.state, "form_token_good", None)
    if not isinstance(token, str) or good is None or not good(token):
        raise ForeignFormError
    return Sent(form)


def key_of(name: str, known: Collection[str]) -> str:
    """A short name made of what people call a thing, which none of the ``known`` has."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:_LONGEST_KEY].strip("-") or "model"
    return next(
        key
        for key in (plain, *(f"{plain}-{number}" for number in range(2, len(known) + 3)))
        if key not in known
    )
