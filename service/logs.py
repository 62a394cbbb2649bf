"""Logs: one JSON object a line, with the request, order and job they are about, and nobody's name.

Addresses, names and mail addresses are personal data and have no place in a log: nothing here logs them on
purpose, and mail addresses that come along in the words of an error are left out.
"""

from __future__ import annotations

import logging
import re
import sys
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any, TextIO

from pydantic_core import to_json

_MAIL_ADDRESS = re.compile(r"[^\s<>\"'(),;:@]+@[^\s<>\"'(),;:@]+")
_about: ContextVar[dict[str, str] | None] = ContextVar("about", default=None)


def begin(**about: str) -> None:
    """What is logged from here on, in this task and the threads it hands work to, is about this."""
    _about.set(dict(about))


def note(**about: str) -> None:
    """It is about this too, as has turned out; told of what is logged later, by whoever began as well."""
    known = _about.get()
    if known is not None:
        known.update(about)


class JsonLines(logging.Formatter):
    """One JSON object a line: ``at``, ``level``, ``log``, ``words``, what it is about, what was measured."""

    def format(self, record: logging.LogRecord) -> str:
        """See ``logging.Formatter``."""
        line: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "log": record.name,
            "words": record.getMessage(),
            **(_about.get() or {}),
            **getattr(record, "figures", {}),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        text = to_json(line, fallback=str).decode()
        return _MAIL_ADDRESS.sub("…@…", text) if "@" in text else text


class PlainLines(logging.Formatter):
    """One line for a person at a terminal, who is not told how often something was answered."""

    def format(self, record: logging.LogRecord) -> str:
        """See ``logging.Formatter``."""
        at = datetime.fromtimestamp(record.created).astimezone().strftime("%H:%M:%S")
        text = f"{at}  {record.levelname.lower()}: {record.getMessage()}"
        if record.exc_info:
            text = f"{text}\n{self.formatException(record.exc_info)}"
        return _MAIL_ADDRESS.sub("…@…", text)


def configure(level: str, stream: TextIO | None = None, *, for_people: bool = False) -> None:
    """Log to ``stream`` (standard error) from ``level`` on.

    Args:
        level: debug, info, warning or error.
        stream: where to.
        for_people: plain lines, from warnings on where ``level`` is info: somebody watches a terminal.
    """
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(PlainLines() if for_people else JsonLines())
    if for_people and level == "info":
        level = "warning"
    logging.basicConfig(level=level.upper(), handlers=[handler], force=True)
    # No line tells where in the code it was written, nor by which process: what is not told is not found out
    # (https://docs.python.org/3/howto/logging.html#optimization).
    logging._srcfile = None
    logging.logThreads = logging.logProcesses = logging.logMultiprocessing = False
    logging.getLogger("httpx2").setLevel(
        logging.WARNING
    )  # pages calling the API in process: one line is enough
    if level != "debug":
        logging.getLogger("dbos").setLevel(logging.WARNING)  # a line for each of its sixty migrations
    logging.getLogger("ezdxf").setLevel(logging.WARNING)  # tells of every header variable it leaves out
    logging.getLogger("uvicorn.error").addFilter(_names_no_client)


def _names_no_client(record: logging.LogRecord) -> bool:
    """Uvicorn tells where sockets come from."""
    return "WebSocket" not in str(record.msg)
