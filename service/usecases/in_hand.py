"""A carving in hand, with what its cut depends on; and how another cut for it is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace

from artwork.workpiece import Bit, Slat
from service.orders.actors import Actor
from service.orders.cuts import Circumstances
from service.orders.errors import ConflictError, NotFoundError
from service.orders.order import Carving, Line
from service.orders.work import JobKind
from service.orders.workshop import Settings
from service.store import orders, shop
from service.usecases.context import Context
from service.usecases.guard import reach_of
from service.usecases.opened import OpenOrder


@dataclass(frozen=True)
class InHand:
    """A carving with what its cut depends on, and the other carvings of its order."""

    carving: Carving
    line: Line
    settings: Settings
    siblings: tuple[Carving, ...]

    @property
    def outline(self) -> str:
        """Digest of the outline that is carved."""
        if self.carving.outline is None:
            raise ConflictError(
                "no-outline", "The artwork has not been read yet. Wait for it, or send another file."
            )
        return self.carving.outline

    def taken_slats(self) -> frozenset[str]:
        """Slats of the same line and piece that carry other art."""
        return frozenset(
            other.slat_key
            for other in self.siblings
            if other.id != self.carving.id
            and (other.line_id, other.piece) == (self.carving.line_id, self.carving.piece)
        )

    def art_slats(self) -> tuple[Slat, ...]:
        """Slats of the model that carry art."""
        model = self.settings.model(self.line.model_key)
        return () if model is None else tuple(each.slat for each in model.layout.slats if each.carries_art)

    def other_slats(self, at: Circumstances) -> tuple[Slat, ...]:
        """Slats that it could go to, of the board it would be cut from."""
        taken = self.taken_slats() | {at.slat.key}
        board = self.carving.thickness
        return tuple(
            slat if board is None else replace(slat, thickness=board)
            for slat in self.art_slats()
            if slat.key not in taken
        )

    def other_bits(self, at: Circumstances) -> tuple[Bit, ...]:
        """Other bits that the workshop owns."""
        return tuple(o.bit for o in self.settings.bits if not o.retired and o.bit.key != at.bit.key)


def look_at(ctx: Context, actor: Actor, carving_id: str) -> InHand:
    """One carving within reach. NotFoundError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        found = orders.carvings_by_ids(connection, reach, [carving_id])
        if not found:
            raise NotFoundError("carving")
        order_id = found[0].order_id
        lines = orders.lines_of_orders(connection, reach, [order_id])
        siblings = tuple(orders.carvings_of_orders(connection, reach, [order_id]))
        settings = shop.read_settings(connection, reach.workshop_id)
    line = next(line for line in lines if line.id == found[0].line_id)
    return InHand(found[0], line, settings, siblings)


def renew(opened: OpenOrder, before: Carving, after: Carving) -> None:
    """Store another cut for a carving, and ask for its proof; the old proof is left behind."""
    if before.outline is None:
        raise ConflictError(
            "no-outline", "The artwork has not been read yet. Wait for it, or send another file."
        )
    moved = opened.move_carving(
        before,
        "change",
        slat_key=after.slat_key,
        outline=after.outline,
        outline_note=after.outline_note,
        placement=after.placement,
        bit_key=after.bit_key,
        thickness=after.thickness,
        allowances=after.allowances,
        version=after.version,
        proof_id=None,
        verdict=None,
        trouble=None,
    )
    opened.ask(JobKind.PROVE, moved.id, revision=moved.revision)
