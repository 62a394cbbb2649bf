"""Queries about workshops and their settings."""

from __future__ import annotations

import re
from datetime import datetime
from threading import Lock
from weakref import WeakKeyDictionary

from cachetools import LRUCache
from sqlalchemy import BindParameter, Connection, Engine, bindparam, func, insert, select, update

from artwork.jsonable import allowances_from_json, allowances_to_json, bit_from_json, bit_to_json
from artwork.layout_json import layout_to_json
from service.orders.finishes import FinishTerms
from service.orders.units import Units
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop
from service.store.mapping import AnyRow, from_json, to_json
from service.store.parsed_models import models_of
from service.store.prepared import Prepared
from service.store.sharing import asked_once, may_write
from service.store.tables import counters, shop_bits, shop_models, workshop_keys, workshops
from service.store.vault import vault_of

_MOST_KEPT = 64
_kept: WeakKeyDictionary[Engine, LRUCache[tuple[str, tuple[int, ...]], Settings]] = WeakKeyDictionary()
"""Settings of workshops as last read, of each database: their outlines are many, and change once in months."""
_lock = Lock()
_PLAIN_KEY = re.compile(r"[0-9a-f]{64}")


def insert_workshop(connection: Connection, workshop: Workshop, now: datetime) -> None:
    """Store a new workshop."""
    connection.execute(insert(workshops).values(**_workshop_values(workshop), created_at=now))
    connection.execute(insert(counters).values(workshop_id=workshop.id, orders=0))


def keep_signing_key(connection: Connection, workshop_id: str, key: bytes) -> None:
    """Store the private key that signs the workshop's batches."""
    kept = vault_of(connection).seal(key, _whose(workshop_id)) or key.hex()
    connection.execute(insert(workshop_keys).values(workshop_id=workshop_id, private_key=kept))


def signing_key(connection: Connection, workshop_id: str) -> bytes:
    """The private key that signs the workshop's batches, 32 bytes."""
    query = select(workshop_keys.c.private_key).where(workshop_keys.c.workshop_id == workshop_id)
    kept: str = connection.execute(query).scalar_one()
    return (
        bytes.fromhex(kept)
        if _PLAIN_KEY.fullmatch(kept)
        else vault_of(connection).open(kept, _whose(workshop_id))
    )


def seal_signing_keys(connection: Connection) -> None:
    """Seal the keys that are kept as they are, where the connection's vault has a key; see that all of them open."""
    for workshop_id in connection.scalars(select(workshop_keys.c.workshop_id)).all():
        key = signing_key(connection, workshop_id)
        sealed = vault_of(connection).seal(key, _whose(workshop_id))
        if sealed is not None:
            of_workshop = update(workshop_keys).where(workshop_keys.c.workshop_id == workshop_id)
            connection.execute(of_workshop.values(private_key=sealed))


def _whose(workshop_id: str) -> str:
    return f"signing key of workshop {workshop_id}"


def update_workshop(connection: Connection, workshop: Workshop) -> None:
    """Store changed settings."""
    connection.execute(
        update(workshops).where(workshops.c.id == workshop.id).values(_workshop_values(workshop))
    )


# Asked for with every page and catalogue, so built once.
_BY_KEY = Prepared(select(workshops).where(workshops.c.key == bindparam("key")))
_ID_BY_KEY = Prepared(select(workshops.c.id).where(workshops.c.key == bindparam("key")))
_THIS: BindParameter[str] = bindparam("workshop")
_STAMP = select(
    workshops.c.revision,
    *(
        select(figure).where(table.c.workshop_id == _THIS).scalar_subquery().label(f"{what}_{table.name}")
        for table in (shop_models, shop_bits)
        for what, figure in (("count", func.count()), ("sum", func.coalesce(func.sum(table.c.revision), 0)))
    ),
).where(workshops.c.id == _THIS)
_READY_STAMP = Prepared(_STAMP)
_STAMP_HELD = _STAMP.with_for_update(read=True, of=workshops)


@asked_once
def find_workshop(connection: Connection, workshop_id: str) -> Workshop | None:
    """One workshop by id."""
    row = connection.execute(select(workshops).where(workshops.c.id == workshop_id)).one_or_none()
    return None if row is None else _workshop_of(row)


def find_workshop_id(connection: Connection, key: str) -> str | None:
    """Id of the workshop of a public key, without all that it has set."""
    found: str | None = _ID_BY_KEY.scalar(connection, {"key": key}) if key.isprintable() else None
    return found


def find_workshop_by_key(connection: Connection, key: str) -> Workshop | None:
    """One workshop by its public key."""
    if not key.isprintable():
        return None
    row = _BY_KEY.one_or_none(connection, {"key": key})
    return None if row is None else _workshop_of(row)


def all_workshops(connection: Connection) -> list[Workshop]:
    """Every workshop, by key."""
    return [_workshop_of(row) for row in connection.execute(select(workshops).order_by(workshops.c.key))]


@asked_once
def settings_stamp(connection: Connection, workshop_id: str) -> tuple[int, ...]:
    """What changes with everything that a workshop sets: its revision, how many models and bits, and theirs."""
    found = _READY_STAMP.one_or_none(connection, {"workshop": workshop_id})
    return () if found is None else tuple(found)


def hold_settings(connection: Connection, workshop_id: str) -> Settings:
    """As :func:`read_settings`, held until the transaction ends, which must not have changed any of them.

    Of an unchanged stamp, what is kept is believed: this is for what decides nothing that is not decided again.

    Raises:
        LookupError: there is no such workshop.
    """
    stamp = connection.execute(_STAMP_HELD, {"workshop": workshop_id}).one_or_none()
    if stamp is None:
        raise LookupError(workshop_id)
    return _kept_or_read(connection, workshop_id, tuple(stamp))


@asked_once
def read_settings(connection: Connection, workshop_id: str) -> Settings:
    """Everything a workshop sets, as last read where no revision of it has changed since. The workshop must exist.

    A transaction that may write decides on what is stored: rows that were altered without their revisions are seen
    there, and what was kept of them is let go of.
    """
    stamp = settings_stamp(connection, workshop_id)
    if not may_write(connection):
        return _kept_or_read(connection, workshop_id, stamp)
    stored = _read_settings(connection, workshop_id)  # what is not committed may never be, so it is not kept
    with _lock:
        kept = _kept.setdefault(connection.engine, LRUCache(_MOST_KEPT))
        if kept.get((workshop_id, stamp), stored) != stored:
            kept.pop((workshop_id, stamp))
    return stored


def _kept_or_read(connection: Connection, workshop_id: str, stamp: tuple[int, ...]) -> Settings:
    this = (workshop_id, stamp)
    with _lock:
        kept = _kept.setdefault(connection.engine, LRUCache(_MOST_KEPT))
        found = kept.get(this)
    if found is None:
        found = _read_settings(connection, workshop_id)
        with _lock:
            kept[this] = found
    return found


def _read_settings(connection: Connection, workshop_id: str) -> Settings:
    workshop = find_workshop(connection, workshop_id)
    if workshop is None:
        raise LookupError(workshop_id)
    bits = connection.execute(
        select(shop_bits).where(shop_bits.c.workshop_id == workshop_id).order_by(shop_bits.c.key)
    )
    return Settings(workshop, models_of(connection, workshop_id), tuple(_bit_of(row) for row in bits))


def save_model(connection: Connection, workshop_id: str, model: ShopModel) -> None:
    """Store a model, new (revision 1) or changed."""
    values = {
        "layout": layout_to_json(model.layout),
        "allowances": {key: dict(each) for key, each in model.allowances.items()},
        "revision": model.revision,
        "retired": model.retired,
    }
    key = model.layout.key
    if model.revision == 1:
        connection.execute(insert(shop_models).values(workshop_id=workshop_id, key=key, **values))
    else:
        this = (shop_models.c.workshop_id == workshop_id) & (shop_models.c.key == key)
        connection.execute(update(shop_models).where(this).values(values))


def save_bit(connection: Connection, workshop_id: str, bit: ShopBit) -> None:
    """Store a bit, new (revision 1) or changed."""
    values = {"bit": bit_to_json(bit.bit), "revision": bit.revision, "retired": bit.retired}
    key = bit.bit.key
    if bit.revision == 1:
        connection.execute(insert(shop_bits).values(workshop_id=workshop_id, key=key, **values))
    else:
        this = (shop_bits.c.workshop_id == workshop_id) & (shop_bits.c.key == key)
        connection.execute(update(shop_bits).where(this).values(values))


def _workshop_values(workshop: Workshop) -> dict[str, object]:
    return {
        **vars(workshop),
        "allowances": allowances_to_json(workshop.allowances),
        "finishes": to_json(workshop.finishes),
    }


def _workshop_of(row: AnyRow) -> Workshop:
    return Workshop(
        id=row.id,
        key=row.key,
        name=row.name,
        revision=row.revision,
        allowances=allowances_from_json(row.allowances),
        usual_bit=row.usual_bit,
        retention_days=row.retention_days,
        place=row.place,
        phone=row.phone,
        email=row.email,
        payment_required=row.payment_required,
        finishes=tuple(from_json(FinishTerms, each) for each in row.finishes),
        units=Units(row.units),
    )


def _bit_of(row: AnyRow) -> ShopBit:
    return ShopBit(bit_from_json(row.bit), row.revision, row.retired)
