"""Ten of the worst files at once, through the service's killable processes: the limits hold, and sound files
sent meanwhile are read.
"""

from __future__ import annotations

import resource
import struct
import zlib
from concurrent.futures import ThreadPoolExecutor
from functools import reduce

import pytest

from artwork.errors import EngineError
from service.work.processes import LOADED, Cage, Limits, Processes
from tests.artwork.intake.made import emblem, encoded, svg
from tests.hostile import apart

SECONDS = 3.0
"""The limit on one file, from the moment that its process takes it up: a sound file needs a tenth of a second."""
HANGS = 300
"""Seconds after which an answer is missing, however busy the machine is."""
MEMORY = 1536 * 1024**2


def bomb(side: int) -> bytes:
    """A PNG of one colour in 16-bit RGBA: 8 bytes a pixel once unpacked. ``side``: a multiple of 100.

    A hundred rows are packed once and that block repeated, which a full flush allows (RFC 1951): packing 400 MB
    would take longer than all of the limits that are tested.
    """

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    rows, times = bytes(100 * (1 + 8 * side)), side // 100
    packer = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    block = packer.compress(rows) + packer.flush(zlib.Z_FULL_FLUSH)
    check = reduce(lambda sum_, _: zlib.adler32(rows, sum_), range(times), 1)
    body = b"\x78\xda" + block * times + b"\x03\x00" + struct.pack(">I", check)
    head = struct.pack(">IIBBBBB", side, side, 16, 6, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def worst() -> list[bytes]:
    """Files that ask for as much work as the limits on their content let through."""
    crossing = "".join(f"M{i * 7919 % 1000} 0L{i * 104729 % 1000} 1000" for i in range(4000))
    rules = "".join(f"g{' g' * 20} .a{i}{{fill:red}}" for i in range(4000))
    deep = "<g>" * 50 + '<rect class="a1" width="9" height="9"/>' * 9000 + "</g>" * 50
    return [
        bomb(7000),
        svg(f'<path fill-rule="evenodd" d="{crossing}z"/>', 'viewBox="0 0 1000 1000"'),
        svg(f"<style>{rules}</style>{deep}"),
        svg('<path d="M0 0h90" stroke="#000" stroke-dasharray=".1"/>' * 40),
        encoded(emblem(64), "PNG") + bytes(30_000_000),
    ] * 2


@pytest.fixture(scope="module")
def processes():
    made = Processes(2, Limits(seconds=SECONDS, memory=MEMORY), cage=Cage((*LOADED, "tests.hostile.apart")))
    made.warm()
    yield made
    made.stop()


def ask(processes: Processes, data: bytes) -> str:
    try:
        return processes.run(apart.read, data, {}).code
    except EngineError as refusal:
        return refusal.code


def test_ten_at_once_end_within_their_limits_and_sound_files_are_read(processes) -> None:
    sound = svg('<circle cx="50" cy="50" r="30"/>')
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with ThreadPoolExecutor(12) as threads:
        hostile = [threads.submit(ask, processes, data) for data in worst()]
        friendly = [threads.submit(ask, processes, sound) for _ in range(2)]
        answers = [each.result(HANGS) for each in hostile]
        assert [each.result(HANGS) for each in friendly] == ["taken", "taken"]
    allowed = {
        "taken", "too-slow", "too-much-memory", "too-many-path-commands", "outline-too-detailed",
        "solid-picture", "blank-picture", "nothing-drawn", "too-many-elements", "image-too-large",
    }  # fmt: skip
    assert set(answers) <= allowed
    assert "too-slow" in answers, "no file met the limit that is tested"
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    assert grown < 150, "the service itself held what only its processes should"
    assert ask(processes, sound) == "taken"
