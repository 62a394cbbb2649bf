"""What a workshop sets."""

from __future__ import annotations

from typing import Annotated

import strawberry
from strawberry.scalars import JSON

from schema.context import Info
from schema.inputs import BitInput, WorkshopInput, checked
from schema.mutations.outcome import attempt
from schema.outcomes import Conflict, Invalid, NotAllowed, NotFound, Refusals, Stale, TooMany
from schema.types.shop import (
    Bit,
    Model,
    WorkshopSettings,
    bit_of,
    model_of,
    workshop_settings_of,
)
from service.orders import workshop as rules
from service.orders.actors import Actor
from service.rest.asks.shop import BitAsk, ModelAsk, WorkshopAsk
from service.rest.asks.shop import bit_of as bit_from
from service.usecases import shop
from service.usecases.context import Context


@strawberry.type
class WorkshopSaved:
    """It was done."""

    workshop: WorkshopSettings


@strawberry.type
class ModelSaved:
    """It was done."""

    model: Model


@strawberry.type
class BitSaved:
    """It was done."""

    bit: Bit


WorkshopOutcome = Annotated[
    WorkshopSaved | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("WorkshopOutcome", description="How saving the workshop's settings went."),
]
ModelOutcome = Annotated[
    ModelSaved | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("ModelOutcome", description="How saving a model went."),
]
BitOutcome = Annotated[
    BitSaved | Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany,
    strawberry.union("BitOutcome", description="How saving a bit went."),
]


def _model(done: rules.ShopModel | Refusals) -> ModelOutcome:
    return ModelSaved(model=model_of(done)) if isinstance(done, rules.ShopModel) else done


def _bit(done: rules.ShopBit | Refusals) -> BitOutcome:
    return BitSaved(bit=bit_of(done)) if isinstance(done, rules.ShopBit) else done


@strawberry.type
class ShopMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def save_workshop(
        self, info: Info, workshop: WorkshopInput, expected_revision: int
    ) -> WorkshopOutcome:
        """Change the workshop's own settings; open proofs judged under others become stale."""
        done = await attempt(
            info.context,
            lambda ctx, actor: shop.save_workshop(
                ctx, actor, checked(WorkshopAsk, workshop).content(), expected_revision
            ),
        )
        if isinstance(done, rules.Workshop):
            return WorkshopSaved(workshop=workshop_settings_of(done))
        return done

    @strawberry.mutation
    async def save_model(self, info: Info, key: str, model: JSON, expected_revision: int) -> ModelOutcome:
        """Add (revision 0) or change a furniture model; `model` is the REST door's `ModelAsk`."""

        def work(ctx: Context, actor: Actor) -> rules.ShopModel:
            ask = checked(ModelAsk, model)
            return shop.save_model(ctx, actor, ask.layout(key), ask.allowances, expected_revision)

        return _model(await attempt(info.context, work))

    @strawberry.mutation
    async def retire_model(self, info: Info, key: str, retired: bool, expected_revision: int) -> ModelOutcome:
        """Stop offering a model, or go on."""
        done = await attempt(
            info.context,
            lambda ctx, actor: shop.retire_model(ctx, actor, key, retired, expected_revision),
        )
        return _model(done)

    @strawberry.mutation
    async def save_bit(self, info: Info, key: str, bit: BitInput, expected_revision: int) -> BitOutcome:
        """Add (revision 0) or change a bit."""
        done = await attempt(
            info.context,
            lambda ctx, actor: shop.save_bit(
                ctx, actor, bit_from(key, checked(BitAsk, bit)), expected_revision
            ),
        )
        return _bit(done)

    @strawberry.mutation
    async def retire_bit(self, info: Info, key: str, retired: bool, expected_revision: int) -> BitOutcome:
        """Stop using a bit, or go on."""
        done = await attempt(
            info.context, lambda ctx, actor: shop.retire_bit(ctx, actor, key, retired, expected_revision)
        )
        return _bit(done)
