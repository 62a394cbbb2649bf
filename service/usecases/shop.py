"""What a workshop offers and sets. Every change is recorded, and open proofs it concerns become stale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import datetime
from types import MappingProxyType

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from sqlalchemy import Connection

from artwork.furniture import ModelLayout
from artwork.workpiece import Allowances, Bit
from service.orders.actors import Actor, Role
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError, StaleError
from service.orders.ids import new_id
from service.orders.shop_rules import bit_problems, key_problems, model_problems, workshop_problems
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop
from service.store import record, shop
from service.usecases.commands import WorkshopContent
from service.usecases.context import Context
from service.usecases.desk import changing
from service.usecases.guard import need_role

_RETENTION_DAYS = 365


_UNSAID: Mapping[str, str] = MappingProxyType({})


def open_workshop(
    ctx: Context,
    key: str,
    name: str,
    usual_bit: Bit,
    allowances: Allowances,
    *,
    reached: Mapping[str, str] = _UNSAID,
) -> Workshop:
    """Found a workshop with one bit. InvalidError, ConflictError "key-taken".

    ``reached``: its place, phone and email, of those it says.
    """
    with ctx.store.writing() as connection:
        return enter_workshop(
            connection,
            ctx.clock.now(),
            key,
            name,
            usual_bit=usual_bit,
            allowances=allowances,
            reached=reached,
        )


def enter_workshop(
    connection: Connection,
    now: datetime,
    key: str,
    name: str,
    *,
    usual_bit: Bit,
    allowances: Allowances,
    reached: Mapping[str, str] = _UNSAID,
) -> Workshop:
    """Found a workshop in the caller's transaction. InvalidError, ConflictError "key-taken"."""
    place, phone, email = (reached.get(each, "") for each in ("place", "phone", "email"))
    content = WorkshopContent(name, allowances, usual_bit.key, _RETENTION_DAYS, place, phone, email)
    workshop = Workshop(new_id(), key, revision=1, **vars(content))
    bits = (ShopBit(usual_bit),)
    _refuse(*key_problems("key", key), *workshop_problems(content, bits), *bit_problems(usual_bit))
    if shop.find_workshop_by_key(connection, key) is not None:
        raise ConflictError("key-taken", "There is a workshop of that key already. Choose another key.")
    shop.insert_workshop(connection, workshop, now)
    shop.save_bit(connection, workshop.id, ShopBit(usual_bit, revision=1))
    shop.keep_signing_key(connection, workshop.id, Ed25519PrivateKey.generate().private_bytes_raw())
    record.found(connection, workshop.id)
    return workshop


def find_workshop(ctx: Context, key: str) -> Workshop:
    """The workshop of that public key. NotFoundError."""
    with ctx.store.reading() as connection:
        workshop = shop.find_workshop_by_key(connection, key)
    if workshop is None:
        raise NotFoundError("workshop")
    return workshop


def list_workshops(ctx: Context) -> tuple[Workshop, ...]:
    """Every workshop of the installation; for the command line and the doors' start, not for people."""
    with ctx.store.reading() as connection:
        return tuple(shop.all_workshops(connection))


def list_models(ctx: Context, actor: Actor) -> tuple[ShopModel, ...]:
    """What the workshop offers, by key; makers and helpers see retired ones too."""
    models = _read(ctx, actor).models
    if actor.role in (Role.MAKER, Role.HELPER):
        return models
    return tuple(model for model in models if not model.retired)


def get_stamp(ctx: Context, actor: Actor) -> tuple[int, ...]:
    """What changes with everything that the workshop sets, and with nothing else."""
    with ctx.store.reading() as connection:
        return shop.settings_stamp(connection, actor.workshop_id)


def get_model(ctx: Context, actor: Actor, key: str) -> ShopModel:
    """One model, retired ones included (old orders show them). NotFoundError."""
    model = _read(ctx, actor).model(key)
    if model is None:
        raise NotFoundError("model")
    return model


def get_settings(ctx: Context, actor: Actor) -> Settings:
    """All settings; makers and helpers. NotAllowedError."""
    need_role(actor, "see the workshop's settings", Role.MAKER, Role.HELPER)
    return _read(ctx, actor)


def save_model(
    ctx: Context,
    actor: Actor,
    layout: ModelLayout,
    allowances: Mapping[str, Mapping[str, float | bool]],
    expected_revision: int,
) -> ShopModel:
    """Add (expected_revision 0) or change a model. NotAllowedError, InvalidError, StaleError."""
    with changing(ctx, actor) as desk:
        _refuse(*model_problems(layout, allowances))
        known = desk.settings.model(layout.key)
        revision = _next_revision(0 if known is None else known.revision, expected_revision)
        model = ShopModel(layout, allowances, revision, known is not None and known.retired)
        shop.save_model(desk.connection, actor.workshop_id, model)
        desk.changed(f"the model “{layout.name}”", model=layout.key, revision=revision)
        return model


def save_bit(ctx: Context, actor: Actor, bit: Bit, expected_revision: int) -> ShopBit:
    """Add (expected_revision 0) or change a bit. NotAllowedError, InvalidError, StaleError."""
    with changing(ctx, actor) as desk:
        _refuse(*bit_problems(bit))
        known = next((owned for owned in desk.settings.bits if owned.bit.key == bit.key), None)
        revision = _next_revision(0 if known is None else known.revision, expected_revision)
        saved = ShopBit(bit, revision, known is not None and known.retired)
        shop.save_bit(desk.connection, actor.workshop_id, saved)
        desk.changed(f"the bit “{bit.key}”", bit=asdict(bit), revision=revision)
        return saved


def save_workshop(ctx: Context, actor: Actor, content: WorkshopContent, expected_revision: int) -> Workshop:
    """Change the workshop's own settings. NotAllowedError, InvalidError, StaleError."""
    with changing(ctx, actor) as desk:
        _refuse(*workshop_problems(content, desk.settings.bits))
        before = desk.settings.workshop
        revision = _next_revision(before.revision, expected_revision)
        after = replace(before, **vars(content), revision=revision)
        shop.update_workshop(desk.connection, after)
        old, new = asdict(before.allowances), asdict(after.allowances)
        differing = {name: [old[name], new[name]] for name in new if old[name] != new[name]}
        words = _what_changed(differing, before, after)
        desk.changed(words, allowances=differing, usual_bit=after.usual_bit, revision=revision)
        return after


def retire_model(ctx: Context, actor: Actor, key: str, retired: bool, expected_revision: int) -> ShopModel:
    """Stop (or go on) offering a model. NotAllowedError, NotFoundError, StaleError."""
    with changing(ctx, actor) as desk:
        known = desk.settings.model(key)
        if known is None:
            raise NotFoundError("model")
        revision = _next_revision(known.revision, expected_revision)
        model = replace(known, retired=retired, revision=revision)
        shop.save_model(desk.connection, actor.workshop_id, model)
        desk.changed(f"the model “{known.layout.name}”", model=key, retired=retired, revision=revision)
        return model


def retire_bit(ctx: Context, actor: Actor, key: str, retired: bool, expected_revision: int) -> ShopBit:
    """Stop (or go on) using a bit; not the usual one.

    NotAllowedError, NotFoundError, StaleError, ConflictError "usual-bit".
    """
    with changing(ctx, actor) as desk:
        known = next((owned for owned in desk.settings.bits if owned.bit.key == key), None)
        if known is None:
            raise NotFoundError("bit")
        if retired and key == desk.settings.workshop.usual_bit:
            raise ConflictError("usual-bit", "This is the usual bit. Make another one the usual bit first.")
        revision = _next_revision(known.revision, expected_revision)
        saved = replace(known, retired=retired, revision=revision)
        shop.save_bit(desk.connection, actor.workshop_id, saved)
        desk.changed(f"the bit “{key}”", bit=key, retired=retired, revision=revision)
        return saved


def _read(ctx: Context, actor: Actor) -> Settings:
    with ctx.store.reading() as connection:
        try:
            return shop.read_settings(connection, actor.workshop_id)
        except LookupError:
            raise NotFoundError("workshop") from None


def _refuse(*problems: FieldError) -> None:
    if problems:
        raise InvalidError(*problems)


def _next_revision(stored: int, expected: int) -> int:
    if stored != expected:
        raise StaleError(stored)
    return expected + 1


def _what_changed(differing: Mapping[str, object], before: Workshop, after: Workshop) -> str:
    parts = []
    if differing:
        parts.append("its allowances (" + ", ".join(name.replace("_", " ") for name in differing) + ")")
    if before.usual_bit != after.usual_bit:
        parts.append(f"its usual bit to “{after.usual_bit}”")
    return " and ".join(parts) or "its settings"
