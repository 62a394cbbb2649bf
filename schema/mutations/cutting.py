"""Artwork and carvings: readings, placements, cures, the maker's changes. Files come by the REST door."""

from __future__ import annotations

import strawberry

from schema.context import Info
from schema.inputs import CutInput, PlacementInput, WishesInput, checked
from schema.mutations.outcome import OrderOutcome, change
from service.rest.asks.cutting import CutAsk, PlacementAsk, WishesAsk
from service.usecases import artworks, cutting


@strawberry.type
class CuttingMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def read_again(
        self, info: Info, carving_id: strawberry.ID, expected_revision: int, wishes: WishesInput
    ) -> OrderOutcome:
        """Read the carving's file again with other wishes."""
        return await change(
            info.context,
            lambda ctx, actor: artworks.read_again(
                ctx, actor, carving_id, expected_revision, checked(WishesAsk, wishes).wishes()
            ),
        )

    @strawberry.mutation
    async def use_artwork(
        self, info: Info, carving_id: strawberry.ID, expected_revision: int, artwork_id: strawberry.ID
    ) -> OrderOutcome:
        """Put a file that the order already has on the carving."""
        return await change(
            info.context,
            lambda ctx, actor: artworks.use_artwork(ctx, actor, carving_id, expected_revision, artwork_id),
        )

    @strawberry.mutation
    async def place_art(
        self, info: Info, carving_id: strawberry.ID, expected_revision: int, placement: PlacementInput
    ) -> OrderOutcome:
        """Lay the art; a new proof follows."""
        return await change(
            info.context,
            lambda ctx, actor: cutting.place(
                ctx, actor, carving_id, expected_revision, checked(PlacementAsk, placement).placement()
            ),
        )

    @strawberry.mutation
    async def change_cut(
        self, info: Info, carving_id: strawberry.ID, expected_revision: int, cut: CutInput
    ) -> OrderOutcome:
        """Change slat, bit, board or allowances; a new proof follows."""
        return await change(
            info.context,
            lambda ctx, actor: cutting.change_cut(
                ctx, actor, carving_id, expected_revision, checked(CutAsk, cut).change()
            ),
        )

    @strawberry.mutation
    async def check_again(
        self, info: Info, carving_id: strawberry.ID, expected_revision: int
    ) -> OrderOutcome:
        """Make a new proof of the same cut under today's settings."""
        return await change(
            info.context, lambda ctx, actor: cutting.check_again(ctx, actor, carving_id, expected_revision)
        )

    @strawberry.mutation
    async def take_cure(
        self, info: Info, carving_id: strawberry.ID, expected_revision: int, code: str
    ) -> OrderOutcome:
        """Take one cure; a new proof follows."""
        return await change(
            info.context,
            lambda ctx, actor: cutting.apply_cure(ctx, actor, carving_id, expected_revision, code),
        )
