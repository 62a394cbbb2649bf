"""A caged process's own side: it takes one question after the other and answers, until its channel ends."""

from __future__ import annotations

import os
import pickle
import socket
from functools import partial
from typing import Any

from artwork.errors import EngineError
from service.work.cage import messages
from service.work.cage.confinement import confine


def live(channel: socket.socket, parent: int, memory: int) -> None:
    """Shut this process in, say how far, then answer questions."""
    _close_all_but(channel.fileno())
    try:
        confined = confine(parent, memory)
    except Exception as error:
        messages.send(channel, messages.failed(error))
        raise
    messages.send(channel, messages.answered(confined))
    while True:
        try:
            question = messages.receive(channel, largest=1 << 40)
        except messages.GoneError:
            return
        mark, work = question[: messages.MARK_BYTES], question[messages.MARK_BYTES :]
        messages.send(channel, bytes(mark) + _answer(work))


def _answer(question: bytearray) -> bytes:
    try:
        work: partial[Any] = pickle.loads(question)  # noqa: S301 - from the service, which trusts itself
        return messages.answered(work())
    except MemoryError:
        return messages.out_of_memory()
    except EngineError as refusal:
        return messages.refused(refusal)
    except Exception as error:  # noqa: BLE001 - whatever went wrong is told, not raised
        # GEOS and OpenCV say it in their own way
        if any(words in str(error) for words in ("bad_alloc", "nsufficient memory")):
            return messages.out_of_memory()
        return messages.failed(error)


def _close_all_but(kept: int) -> None:
    """Nothing of the service's or the template's stays open; standard streams lead nowhere."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in range(3):
        os.dup2(nowhere, stream)
    os.closerange(3, kept)
    os.closerange(kept + 1, 4096)
