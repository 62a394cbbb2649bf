"""The language in which whoever asks is answered."""

from __future__ import annotations

from starlette.requests import HTTPConnection

from service.access.csrf import told
from service.language.chosen import speak, wanted

_LOOKED_AT = frozenset({b"cookie", b"accept-language"})


def speak_as_asked(asks: HTTPConnection) -> None:
    """Speak what was chosen on a page, else what the sender likes best of ours, from now on in this task."""
    headers = told(asks.scope, _LOOKED_AT)
    chosen = asks.cookies.get("language") if "language=" in headers.get("cookie", "") else None
    speak(wanted(chosen, headers.get("accept-language")))
