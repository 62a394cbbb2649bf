"""Metafiles made here, record by record, as [MS-EMF] and [MS-WMF] lay them down: a disc with a square hole."""

from __future__ import annotations

import math
import struct

SIDE = 1000
_DISC = [(500 + 400 * math.cos(a / 32 * math.pi), 500 + 400 * math.sin(a / 32 * math.pi)) for a in range(64)]
_HOLE = [(400, 400), (400, 600), (600, 600), (600, 400)]
TRUE_AREA = 32 * 400**2 * math.sin(math.pi / 32) - 200**2
"""Of the polygon of 64 corners less the hole, in the drawing's own units."""


def _emr(kind: int, body: bytes = b"") -> bytes:
    return struct.pack("<II", kind, 8 + len(body)) + body


def emf() -> bytes:
    """EMF: header, brush, one polypolygon of two rings filled by parity, end ([MS-EMF] 2.3)."""
    points = [(round(x), round(y)) for x, y in (*_DISC, *_HOLE)]
    rings = struct.pack("<4iII2I", 0, 0, SIDE, SIDE, 2, len(points), len(_DISC), len(_HOLE))
    records = [
        _emr(17, struct.pack("<I", 8)),  # SETMAPMODE, MM_ANISOTROPIC
        _emr(9, struct.pack("<ii", SIDE, SIDE)),  # SETWINDOWEXTEX
        _emr(11, struct.pack("<ii", SIDE, SIDE)),  # SETVIEWPORTEXTEX
        _emr(39, struct.pack("<IIII", 1, 0, 0x00203010, 0)),  # CREATEBRUSHINDIRECT, solid
        _emr(37, struct.pack("<I", 1)),  # SELECTOBJECT
        _emr(37, struct.pack("<I", 0x80000008)),  # NULL_PEN
        _emr(19, struct.pack("<I", 1)),  # SETPOLYFILLMODE, ALTERNATE
        _emr(8, rings + b"".join(struct.pack("<ii", *point) for point in points)),  # POLYPOLYGON
        _emr(14, struct.pack("<III", 0, 16, 20)),  # EOF
    ]
    size = 88 + sum(map(len, records))
    header = struct.pack("<4i4i", 0, 0, SIDE, SIDE, 0, 0, SIDE * 10, SIDE * 10)
    header += b" EMF" + struct.pack("<IIIHHIII", 0x10000, size, len(records) + 1, 2, 0, 0, 0, 0)
    header += struct.pack("<2i2i", 1000, 1000, 100, 100)
    return _emr(1, header) + b"".join(records)


def wmf(placeable: bool = True) -> bytes:
    """WMF: window, brush, one polypolygon, end ([MS-WMF] 2.3), with or without a placeable header."""
    points = [(round(x), round(y)) for x, y in (*_DISC, *_HOLE)]
    body = struct.pack("<hhh", 2, len(_DISC), len(_HOLE)) + b"".join(struct.pack("<hh", *p) for p in points)
    records = [
        _record(0x0103, struct.pack("<h", 8)),  # SETMAPMODE
        _record(0x020B, struct.pack("<hh", 0, 0)),  # SETWINDOWORG
        _record(0x020C, struct.pack("<hh", SIDE, SIDE)),  # SETWINDOWEXT
        _record(0x02FA, struct.pack("<hhhI", 5, 0, 0, 0)),  # CREATEPENINDIRECT, PS_NULL
        _record(0x012D, struct.pack("<h", 0)),  # SELECTOBJECT
        _record(0x02FC, struct.pack("<hIh", 0, 0x00203010, 0)),  # CREATEBRUSHINDIRECT
        _record(0x012D, struct.pack("<h", 1)),
        _record(0x0106, struct.pack("<h", 1)),  # SETPOLYFILLMODE, ALTERNATE
        _record(0x0538, body),  # POLYPOLYGON
        _record(0x0000),
    ]
    words = 9 + sum(len(record) // 2 for record in records)
    longest = max(len(record) // 2 for record in records)
    data = struct.pack("<HHHIHIH", 1, 9, 0x0300, words, 2, longest, 0) + b"".join(records)
    if not placeable:
        return data
    head = struct.pack("<IHhhhhHI", 0x9AC6CDD7, 0, 0, 0, SIDE, SIDE, 254, 0)
    check = 0
    for (word,) in struct.iter_unpack("<H", head):
        check ^= word
    return head + struct.pack("<H", check) + data


def _record(kind: int, body: bytes = b"") -> bytes:
    return struct.pack("<IH", 3 + len(body) // 2, kind) + body
