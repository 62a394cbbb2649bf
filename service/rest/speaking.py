"""The language in which whoever asks is answered."""

from __future__ import annotations

from starlette.requests import HTTPConnection

from service.language.chosen import speak, wanted


def speak_as_asked(asks: HTTPConnection) -> None:
    """Speak what was chosen on a page, else what the sender likes best of ours, from now on in this task."""
    chosen = asks.cookies.get("language") if "language=" in asks.headers.get("cookie", "") else None
    speak(wanted(chosen, asks.headers.get("accept-language")))
