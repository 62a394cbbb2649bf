"""A workshop and what it sets: furniture models, bits, allowances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from artwork.furniture import ModelLayout
from artwork.workpiece import Allowances, Bit
from service.orders.finishes import FinishTerms
from service.orders.units import Units


@dataclass(frozen=True)
class Workshop:
    """One workshop, walled off from every other.

    Attributes:
        key: short public name in addresses.
        revision: raised by every change to the workshop's own settings.
        usual_bit: key of the bit used where nothing else is said.
        retention_days: artwork of orders that never went on is erased after so many days without activity.
        payment_required: whether an order must be paid before it is released.
        place, phone, email: where it is and how it is reached, as clients read it; empty where it says nothing.
        finishes: that it offers besides bare wood.
        units: that it measures in.
    """

    id: str
    key: str
    name: str
    revision: int
    allowances: Allowances
    usual_bit: str
    retention_days: int
    place: str = ""
    phone: str = ""
    email: str = ""
    payment_required: bool = False
    finishes: tuple[FinishTerms, ...] = ()
    units: Units = Units.MM


@dataclass(frozen=True)
class ShopModel:
    """A furniture model as the workshop offers it.

    Attributes:
        allowances: slat key → field → value, over the workshop's allowances.
        revision: raised by every change; 0 for one not yet stored.
        retired: kept for old orders, not offered any more.
    """

    layout: ModelLayout
    allowances: Mapping[str, Mapping[str, float | bool]] = field(default_factory=dict)
    revision: int = 0
    retired: bool = False


@dataclass(frozen=True)
class ShopBit:
    """A bit the workshop owns; ``revision`` and ``retired`` as for models."""

    bit: Bit
    revision: int = 0
    retired: bool = False


@dataclass(frozen=True)
class Settings:
    """Everything a workshop sets, read at one moment."""

    workshop: Workshop
    models: tuple[ShopModel, ...]
    bits: tuple[ShopBit, ...]

    def model(self, key: str) -> ShopModel | None:
        """The model of that key, retired ones included, or ``None``."""
        return next((model for model in self.models if model.layout.key == key), None)

    def bit(self, key: str | None) -> Bit | None:
        """The bit of that key (``None``: the usual one), or ``None`` when the workshop does not own it."""
        wanted = key or self.workshop.usual_bit
        return next((owned.bit for owned in self.bits if owned.bit.key == wanted), None)
