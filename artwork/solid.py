"""The carved slat as a solid to turn: binary glTF 2.0, its mesh fine only where the face is carved.

Units are metres, y up, as glTF has it; the slat stands on its foot and faces +z.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from artwork.curves import Floats
from artwork.cut import Cut
from artwork.finishes import PAINT, painted, seen_through
from artwork.grain import END_GRAIN_DARKER, board_of, look_of
from artwork.lighting import light
from artwork.relief import Relief, relief
from artwork.workpiece import PAINT_FILLED

Points = NDArray[np.float32]
Numbers = NDArray[np.uint32]

PX_PER_MM = 2.0
"""Height samples per mm."""
COARSEST = 32
"""Largest square that is one piece of the mesh, samples."""
TOLERANCE = 0.04
"""How far the mesh may lie off the samples, mm."""
LEAN = 0.12
"""How far a corner's normal may lean from its square's, radians."""
TEXTURE_PX_PER_MM = 2.0
BORDER = 1.0
"""Kept around the slat, so that the samples outside make its sides, mm."""
_METRES = 0.001
_ARRAY_BUFFER, _ELEMENT_BUFFER = 34962, 34963
_FLOAT, _UINT = 5126, 5125


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles of the face.

    Attributes:
        points: shape (n, 3), metres.
        normals: shape (n, 3).
        places: shape (n, 2), where in the texture.
        triangles: shape (m, 3), counter-clockwise from outside.
    """

    points: Points
    normals: Points
    places: Points
    triangles: Numbers


def glb(cut: Cut, wood: str = "fresh") -> bytes:
    """The slat after every step as one ``.glb``: same value, same bytes."""
    face = relief(cut, PX_PER_MM, BORDER)
    left = cut.slat.thickness - cut.allowances.sanding
    return _container(face_mesh(face, cut.slat.outline, left), _texture(cut, wood))


def face_mesh(face: Relief, slat: Polygon, thickness: float) -> Mesh:
    """The face, its sides and its flat back: one mesh of a slat ``thickness`` mm thick."""
    height = np.where(face.to_edge >= 0, face.height, np.float32(thickness))
    upright = _normals(height)
    squares = _squares(height, upright)
    rows, columns = height.shape
    used, where = np.unique(_number(_all_corners(squares), columns), return_inverse=True)
    r, c = np.divmod(used, columns)
    top = _points(face, r, c, height[r, c])
    quads = where.reshape(-1, 4)
    split = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]).astype(np.uint32)
    solid = height[r, c] < thickness - TOLERANCE
    split = split[solid[split].any(axis=1)]
    normals = upright[r, c]
    places = np.column_stack([(c + 0.5) / columns, (r + 0.5) / rows]).astype(np.float32)
    outside = face.to_edge[r, c] < 0
    top[outside] = _onto_edge(top[outside], slat)
    back = _back(slat, face, thickness)
    offset = len(top)
    return Mesh(
        np.concatenate([top, back.points]),
        np.concatenate([normals, back.normals]),
        np.concatenate([places, back.places]),
        np.concatenate([split, back.triangles + np.uint32(offset)]),
    )


def _number(corners: NDArray[np.int64], columns: int) -> NDArray[np.int64]:
    return corners[..., 0] * columns + corners[..., 1]


def _all_corners(squares: NDArray[np.int64]) -> NDArray[np.int64]:
    """Shape (n, 4, 2): corners of each square, counter-clockwise as seen from the front."""
    r0, c0, dr, dc = squares.T
    r1, c1 = r0 + dr, c0 + dc
    return np.stack([np.stack(pair, axis=-1) for pair in ((r0, c0), (r1, c0), (r1, c1), (r0, c1))], axis=1)


def _squares(height: NDArray[np.float32], normals: Points) -> NDArray[np.int64]:
    """Squares (row, column, rows, columns) that cover the samples: as large as the face lets them be.

    A square will do where its four corners give every sample within it to ``TOLERANCE``, and where each
    corner's normal is the square's own to ``LEAN``: a corner that leans into a groove would bend the light
    on all of it.
    """
    shape = np.array(height.shape) - 1
    starts = np.array(
        [(r, c) for r in range(0, shape[0], COARSEST) for c in range(0, shape[1], COARSEST)], np.int64
    )
    found, size = [], COARSEST
    while len(starts):
        spans = np.minimum(size, shape - starts)
        done = np.full(len(starts), True) if size == 1 else _even(height, normals, starts, spans, size)
        found.append(np.column_stack([starts, spans])[done])
        size //= 2
        rest = starts[~done]
        starts = np.concatenate([rest + np.array([dr, dc]) for dr in (0, size) for dc in (0, size)])
        starts = starts[(starts < shape).all(axis=1)]
    return np.concatenate(found)


def _even(
    height: NDArray[np.float32],
    normals: Points,
    starts: NDArray[np.int64],
    spans: NDArray[np.int64],
    size: int,
) -> NDArray[np.bool_]:
    """Which of the squares of one size their four corners stand for."""
    steps = np.arange(size + 1)
    rows = starts[:, :1] + np.minimum(steps, spans[:, :1])
    columns = starts[:, 1:] + np.minimum(steps, spans[:, 1:])
    patch = height[rows[:, :, None], columns[:, None, :]]
    down = ((rows - rows[:, :1]) / spans[:, :1])[:, :, None]
    right = ((columns - columns[:, :1]) / spans[:, 1:])[:, None, :]
    upper = patch[:, :1, :1] * (1 - right) + patch[:, :1, -1:] * right
    lower = patch[:, -1:, :1] * (1 - right) + patch[:, -1:, -1:] * right
    near = np.abs(patch - (upper * (1 - down) + lower * down)).max(axis=(1, 2)) < TOLERANCE
    corners = normals[rows[:, [0, -1]][:, :, None], columns[:, [0, -1]][:, None, :]].reshape(-1, 4, 3)
    mean = corners.mean(axis=1, keepdims=True)
    mean /= np.linalg.norm(mean, axis=2, keepdims=True)
    return np.asarray(near & ((corners * mean).sum(axis=2).min(axis=1) > np.cos(LEAN)))


def _points(face: Relief, r: NDArray[np.int64], c: NDArray[np.int64], below: Points) -> Points:
    x = face.left + (c + 0.5) / face.px_per_mm
    y = face.top - (r + 0.5) / face.px_per_mm
    return (np.column_stack([x, y, -below]) * _METRES).astype(np.float32)


def _normals(height: NDArray[np.float32]) -> Points:
    gx = cv2.Sobel(height, cv2.CV_32F, 1, 0, ksize=3, scale=PX_PER_MM / 8)
    gy = cv2.Sobel(height, cv2.CV_32F, 0, 1, ksize=3, scale=PX_PER_MM / 8)
    normals = np.dstack([gx, -gy, np.ones_like(height)])
    return np.asarray(normals / np.linalg.norm(normals, axis=2, keepdims=True), np.float32)


def _back(slat: Polygon, face: Relief, thickness: float) -> Mesh:
    """The flat back, turned the other way: exactly the slat's outline."""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(slat))
    corners = np.concatenate([_clockwise(part) for part in parts])
    points = np.column_stack([corners, np.full(len(corners), -thickness)]) * _METRES
    normals = np.tile(np.array([0, 0, -1], np.float32), (len(corners), 1))
    places = face.pixels(corners) / face.height.shape[::-1]
    triangles = np.arange(len(corners), dtype=np.uint32).reshape(-1, 3)
    return Mesh(points.astype(np.float32), normals, places.astype(np.float32), triangles)


def _clockwise(triangle: Polygon) -> Floats:
    """Corners clockwise from the front, which is counter-clockwise from behind."""
    return np.asarray(shapely.geometry.polygon.orient(triangle, -1.0).exterior.coords)[:3]


def _onto_edge(points: Points, slat: Polygon) -> Points:
    """Points just outside the slat laid onto its edge: the sides then stand where the saw cut them."""
    edge = slat.exterior
    along = shapely.line_locate_point(edge, shapely.points(points[:, :2] / _METRES))
    flat = shapely.get_coordinates(shapely.line_interpolate_point(edge, along)) * _METRES
    return np.column_stack([flat, points[:, 2]]).astype(np.float32)


def _texture(cut: Cut, wood: str) -> bytes:
    """The wood's colour as JPEG, darker where little sky gets in: that holds from wherever it is looked at.

    No lamp is drawn into it; whoever shows the solid lights it.
    """
    face = relief(cut, TEXTURE_PX_PER_MM, BORDER)
    look = seen_through(look_of(cut.slat.species, wood), cut.slat.finish)
    dark = np.clip(board_of(face, look, cut.slat).tone(face.height), 0, 1)
    early, late = (np.array(colour, np.float32) for colour in (look.early, look.late))
    shine = light(face.height, face.px_per_mm, cut.slat.grain_deg, face.art)
    hidden = np.square(shine.sky) * (1 - END_GRAIN_DARKER * np.square(shine.end_grain))
    own = early + (late - early) * dark[..., None]
    if cut.slat.finish == PAINT_FILLED and face.art is not None and face.carved is not None:
        own[face.art] += (np.array(PAINT, np.float32) - own[face.art]) * painted(face.carved)[..., None]
    colour = own * hidden[..., None]
    picture = cv2.convertScaleAbs(colour[..., ::-1], alpha=255)
    return bytes(cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 82])[1])


def _container(mesh: Mesh, texture: bytes) -> bytes:
    """One binary glTF: a JSON chunk, then everything it names."""
    parts = [mesh.points.tobytes(), mesh.normals.tobytes(), mesh.places.tobytes()]
    parts += [mesh.triangles.tobytes(), texture]
    views, body = [], b""
    for place, part in enumerate(parts):
        view: dict[str, Any] = {"buffer": 0, "byteOffset": len(body), "byteLength": len(part)}
        if place < 4:
            view["target"] = _ELEMENT_BUFFER if place == 3 else _ARRAY_BUFFER
        views.append(view)
        body += part + b"\0" * (-len(part) % 4)
    count = len(mesh.points)
    accessors = [
        {
            "bufferView": 0,
            "componentType": _FLOAT,
            "count": count,
            "type": "VEC3",
            "min": mesh.points.min(axis=0).tolist(),
            "max": mesh.points.max(axis=0).tolist(),
        },
        {"bufferView": 1, "componentType": _FLOAT, "count": count, "type": "VEC3"},
        {"bufferView": 2, "componentType": _FLOAT, "count": count, "type": "VEC2"},
        {"bufferView": 3, "componentType": _UINT, "count": mesh.triangles.size, "type": "SCALAR"},
    ]
    document = {
        "asset": {"version": "2.0", "generator": "Slatproof"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0, "name": "slat"}],
        "meshes": [
            {
                "primitives": [
                    {
                        "attributes": {"POSITION": 0, "NORMAL": 1, "TEXCOORD_0": 2},
                        "indices": 3,
                        "material": 0,
                    }
                ]
            }
        ],
        "materials": [
            {
                "pbrMetallicRoughness": {
                    "baseColorTexture": {"index": 0},
                    "metallicFactor": 0,
                    "roughnessFactor": 0.85,
                },
                "doubleSided": True,
            }
        ],
        "textures": [{"source": 0, "sampler": 0}],
        "samplers": [{"wrapS": 33071, "wrapT": 33071}],
        "images": [{"bufferView": 4, "mimeType": "image/jpeg"}],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(body)}],
    }
    text = json.dumps(document, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    chunks = (
        struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(body), 0x004E4942) + body
    )
    return struct.pack("<III", 0x46546C67, 2, 12 + len(chunks)) + chunks
