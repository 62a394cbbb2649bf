"""What a workshop offers and sets; every change of a setting is recorded."""

from __future__ import annotations

from collections.abc import Mapping

from artwork.furniture import ModelLayout
from artwork.workpiece import Allowances, Bit
from service.orders.actors import Actor
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop
from service.usecases.commands import WorkshopContent
from service.usecases.context import Context


def open_workshop(ctx: Context, key: str, name: str, usual_bit: Bit, allowances: Allowances) -> Workshop:
    """Found a workshop with one bit. Invalid, Conflict "key-taken"."""
    raise NotImplementedError


def find_workshop(ctx: Context, key: str) -> Workshop:
    """The workshop of that public key. NotFound."""
    raise NotImplementedError


def list_workshops(ctx: Context) -> tuple[Workshop, ...]:
    """Every workshop of the installation; for the command line and the doors' start, not for people."""
    raise NotImplementedError


def list_models(ctx: Context, actor: Actor) -> tuple[ShopModel, ...]:
    """What the workshop offers, by name; makers and helpers see retired ones too."""
    raise NotImplementedError


def get_model(ctx: Context, actor: Actor, key: str) -> ShopModel:
    """One model, retired ones included (old orders show them). NotFound."""
    raise NotImplementedError


def get_settings(ctx: Context, actor: Actor) -> Settings:
    """All settings; makers and helpers. NotAllowed."""
    raise NotImplementedError


def save_model(
    ctx: Context,
    actor: Actor,
    layout: ModelLayout,
    allowances: Mapping[str, Mapping[str, float | bool]],
    expected_revision: int,
) -> ShopModel:
    """Add (expected_revision 0) or change a model. NotAllowed, Invalid, Stale."""
    raise NotImplementedError


def save_bit(ctx: Context, actor: Actor, bit: Bit, expected_revision: int) -> ShopBit:
    """Add (expected_revision 0) or change a bit. NotAllowed, Invalid, Stale."""
    raise NotImplementedError


def save_workshop(ctx: Context, actor: Actor, content: WorkshopContent, expected_revision: int) -> Workshop:
    """Change the workshop's own settings. NotAllowed, Invalid, Stale."""
    raise NotImplementedError


def retire_model(ctx: Context, actor: Actor, key: str, retired: bool, expected_revision: int) -> ShopModel:
    """Stop (or go on) offering a model. NotAllowed, NotFound, Stale."""
    raise NotImplementedError


def retire_bit(ctx: Context, actor: Actor, key: str, retired: bool, expected_revision: int) -> ShopBit:
    """Stop (or go on) using a bit; not the usual one. NotAllowed, NotFound, Stale, Conflict "usual-bit"."""
    raise NotImplementedError
