"""Layouts of models as they were parsed lately: much geometry, rarely changed, and asked for by nearly every request.

Kept by the digest of what is stored, so that whatever changes it, in whatever way, is seen at once.
"""

from __future__ import annotations

import hashlib
import json
import threading

from cachetools import LRUCache
from sqlalchemy import Connection, Text, cast, select

from artwork.furniture import ModelLayout
from artwork.layout_json import layout_from_json
from service.orders.workshop import ShopModel
from service.store.tables import shop_models

_MOST = 2000
_lock = threading.Lock()
_parsed: LRUCache[bytes, ModelLayout] = LRUCache(_MOST)
_MODELS = select(
    cast(shop_models.c.layout, Text).label("layout"),
    shop_models.c.allowances,
    shop_models.c.revision,
    shop_models.c.retired,
).order_by(shop_models.c.key)


def models_of(connection: Connection, workshop_id: str) -> tuple[ShopModel, ...]:
    """Every model of a workshop, by key."""
    rows = connection.execute(_MODELS.where(shop_models.c.workshop_id == workshop_id))
    return tuple(ShopModel(_layout(row.layout), row.allowances, row.revision, row.retired) for row in rows)


def _layout(stored: str) -> ModelLayout:
    digest = hashlib.sha256(stored.encode()).digest()
    with _lock:
        known = _parsed.get(digest)
    if known is None:
        known = layout_from_json(json.loads(stored))
        with _lock:
            _parsed[digest] = known
    return known
