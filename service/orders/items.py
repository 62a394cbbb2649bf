"""Items: every slat of every piece, from the board to the lorry, and what becomes of one that breaks.

Items need no rows before somebody ticks one: what an order has made follows from its lines, its models and its
proofs. What was ticked is kept (:class:`Tick`), and holds as long as the same cut is wanted in that place.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from artwork.furniture import ModelLayout
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.order import Carving, Line

_NUMBER = "([1-9][0-9]{0,4})"
_KEY = re.compile(f"{_NUMBER}-{_NUMBER}-{_NUMBER}-([a-z0-9][a-z0-9-]{{0,62}})")


class ItemState(StrEnum):
    """How far one slat of one piece is."""

    TO_CARVE = "to-carve"
    TO_CUT = "to-cut"
    CARVED = "carved"
    CUT_OUT = "cut-out"
    FINISHED = "finished"
    PACKED = "packed"
    BROKEN = "broken"


class BreakReason(StrEnum):
    """Why a board is made again."""

    KNOT = "knot"
    TEAR_OUT = "tear-out"
    WRONG_ZERO = "wrong-zero"
    DROPPED = "dropped"
    OTHER = "other"


_WAY = (ItemState.TO_CARVE, ItemState.CARVED, ItemState.CUT_OUT, ItemState.FINISHED, ItemState.PACKED)
_PLAIN_WAY = (ItemState.TO_CUT, *_WAY[2:])


@dataclass(frozen=True)
class ItemPlace:
    """Which slat of which piece, and the how manieth board for it.

    Attributes:
        line: position of the order's line, from 1.
        piece: of the line, from 1.
        make: 1 for the first board, one more for every remake.
        slat_key: of the line's model.
    """

    line: int
    piece: int
    make: int
    slat_key: str

    @property
    def key(self) -> str:
        """The item's name within its order (``"1-7-1-back-centre"``)."""
        return f"{self.line}-{self.piece}-{self.make}-{self.slat_key}"


def place_of(key: str) -> ItemPlace:
    """The place that a key names. NotFoundError."""
    found = _KEY.fullmatch(key)
    if found is None:
        raise NotFoundError("item")
    line, piece, make, slat = found.groups()
    return ItemPlace(int(line), int(piece), int(make), slat)


@dataclass(frozen=True)
class Tick:
    """What was last said of an item.

    Attributes:
        key: of the item.
        model_key: of the line when it was said.
        digest: of the proof it is carved by, empty for a slat without art.
        reason, words: why it is made again; empty unless broken.
        at, by: when, and the name of who said it.
    """

    key: str
    model_key: str
    digest: str
    state: ItemState
    reason: str
    words: str
    at: datetime
    by: str


@dataclass(frozen=True)
class Item:
    """One slat of one piece: what is cut, breaks, is made again and gets a label.

    Attributes:
        key: its name within the order, as on its label.
        line, piece, make, slat_key: where it belongs (:class:`ItemPlace`).
        model_key: of its line.
        slat_name: what people call the slat.
        digest: of the released proof it is carved by; empty for a slat without art.
        text: the text carved on it, of a list of texts; else empty.
        state: how far it is.
        reason, words: why it was made again, where it broke.
        at, by: when it was last ticked, and by whom; ``None`` and empty while nobody did.
        shift_x, shift_y: how far its art is shifted from where it was signed, slat mm.
    """

    key: str
    line: int
    piece: int
    make: int
    slat_key: str
    model_key: str
    slat_name: str
    digest: str
    text: str
    state: ItemState
    reason: str = ""
    words: str = ""
    at: datetime | None = None
    by: str = ""
    shift_x: float = 0.0
    shift_y: float = 0.0

    @property
    def way(self) -> tuple[ItemState, ...]:
        """The states it goes through, in their order."""
        return _WAY if self.digest else _PLAIN_WAY

    @property
    def follows(self) -> ItemState | None:
        """The next state, ``None`` for what is packed or broken."""
        left = self.way[self.way.index(self.state) + 1 :] if self.state in self.way else ()
        return left[0] if left else None

    @property
    def told(self) -> str:
        """What people call it."""
        again = f", board {self.make}" if self.make > 1 else ""
        return f"{self.slat_name} of piece {self.piece}, line {self.line}{again}"


def items_of(
    lines: Iterable[Line],
    layouts: Mapping[str, ModelLayout],
    carved: Mapping[tuple[int, str, int | None], tuple[str, str]],
    ticks: Iterable[Tick],
) -> tuple[Item, ...]:
    """Every item of an order, line by line, piece by piece, in the order of the model's slats.

    Args:
        lines: of the order.
        layouts: models by key; of one that is not there, only the carved slats are known.
        carved: position of a line, slat, piece (``None``: all) → digest of the proof and text carved.
        ticks: what was said of items.
    """
    said = {tick.key: tick for tick in ticks}
    found: list[Item] = []
    for line in sorted(lines, key=lambda each: each.position):
        names = _slats(line, layouts, carved)
        for piece in range(1, line.quantity + 1):
            for slat_key, name in names.items():
                once = carved.get((line.position, slat_key, piece))
                digest, text = once or carved.get((line.position, slat_key, None), ("", ""))
                found += _makes(line, piece, (slat_key, name), (digest, text), said)
    return tuple(found)


def carvings_by_place(
    lines: Iterable[Line], carvings: Iterable[Carving], digests: Mapping[str, str], texts: Mapping[str, str]
) -> dict[tuple[int, str, int | None], tuple[str, str]]:
    """What is carved where, for :func:`items_of`.

    Args:
        lines, carvings: of the order.
        digests: carving → digest of its proof; carvings without one are left out.
        texts: carving → text of a list.
    """
    positions = {line.id: line.position for line in lines}
    return {
        (positions[each.line_id], each.slat_key, each.piece): (digests[each.id], texts.get(each.id, ""))
        for each in carvings
        if each.id in digests
    }


def find_items(items: Sequence[Item], keys: Collection[str]) -> tuple[Item, ...]:
    """The items of these keys, in the order's own order. NotFoundError."""
    found = tuple(item for item in items if item.key in keys)
    if len(found) != len(set(keys)):
        raise NotFoundError("item")
    return found


def ticked(item: Item, seen: ItemState, to: ItemState, at: datetime, by: str) -> Item:
    """The item after somebody who saw it as ``seen`` says that it is ``to``.

    Steps may be passed over, and taken back as far as was wrong.

    Raises:
        ConflictError: ``"item-moved"``, it is not as it was seen: somebody else ticked it, or its label was
            scanned twice; ``"item-broken"``, it was made again.
        InvalidError: it does not go that way.
    """
    if item.state is ItemState.BROKEN:
        raise ConflictError(
            "item-broken",
            f"{item.told}: this board broke ({item.reason}) and is made again as board {item.make + 1}. "
            "Put its label away and tick the new one.",
        )
    if item.state is not seen:
        raise ConflictError("item-moved", f"{standing(item)} Look at it again before you tick anything more.")
    if to not in item.way or to is seen:
        way = ", ".join(item.way)
        raise InvalidError(FieldError("to", "no-step", f"{item.told} goes through: {way}. It is {seen}."))
    return replace(item, state=to, at=at, by=by)


def standing(item: Item) -> str:
    """How far an item is and who said so, in a sentence."""
    if item.at is None:
        return f"{item.told} is {words_of(item.state)}."
    when = f"{item.at:%d %b %Y, %H:%M} UTC"
    return f"{item.told} is {words_of(item.state)} already: ticked by {item.by} on {when}."


def words_of(state: ItemState) -> str:
    """A state in words."""
    return {"cut-out": "cut out", "to-carve": "to be carved", "to-cut": "to be cut"}.get(state, state.value)


def broken(item: Item, reason: BreakReason, words: str, at: datetime, by: str) -> tuple[Item, Item]:
    """The item as broken, and the one made in its place by the same proof.

    Raises:
        ConflictError: ``"already-remade"``.
        InvalidError: another reason than those named, without words for it.
    """
    if item.state is ItemState.BROKEN:
        raise ConflictError(
            "already-remade",
            f"{standing(item)} It is made again as board {item.make + 1}: "
            f"{replace(_place(item), make=item.make + 1).key}.",
        )
    if reason is BreakReason.OTHER and not words.strip():
        raise InvalidError(FieldError("words", "missing", "Say in a few words what happened to the board."))
    gone = replace(item, state=ItemState.BROKEN, reason=reason.value, words=words.strip(), at=at, by=by)
    place = replace(_place(item), make=item.make + 1)
    return gone, replace(item, key=place.key, make=place.make, state=item.way[0], at=None, by="")


def tick_of(item: Item) -> Tick:
    """What is kept of an item that somebody ticked. ``item.at`` must be there."""
    if item.at is None:
        raise ValueError(f"nobody ticked {item.key}")
    return Tick(item.key, item.model_key, item.digest, item.state, item.reason, item.words, item.at, item.by)


def counts(items: Iterable[Item]) -> dict[str, int]:
    """How many items are in each state, in the states' order; only states that occur."""
    states = [item.state for item in items]
    return {state.value: states.count(state) for state in ItemState if state in states}


def _place(item: Item) -> ItemPlace:
    return ItemPlace(item.line, item.piece, item.make, item.slat_key)


def _slats(
    line: Line,
    layouts: Mapping[str, ModelLayout],
    carved: Mapping[tuple[int, str, int | None], tuple[str, str]],
) -> dict[str, str]:
    layout = layouts.get(line.model_key)
    names = {} if layout is None else {each.slat.key: each.slat.name for each in layout.slats}
    return names | {key: names.get(key, key) for position, key, _ in carved if position == line.position}


def _makes(
    line: Line,
    piece: int,
    slat: tuple[str, str],
    art: tuple[str, str],
    said: Mapping[str, Tick],
) -> Iterator[Item]:
    """The board for one place, and after each one that broke the next."""
    key, name = slat
    digest, text = art
    make = 1
    while True:
        place = ItemPlace(line.position, piece, make, key)
        fresh = Item(
            key=place.key,
            line=line.position,
            piece=piece,
            make=make,
            slat_key=key,
            model_key=line.model_key,
            slat_name=name,
            digest=digest,
            text=text,
            state=ItemState.TO_CARVE if digest else ItemState.TO_CUT,
        )
        tick = said.get(place.key)
        if tick is None or (tick.model_key, tick.digest) != (line.model_key, digest):
            yield fresh
            return
        yield replace(fresh, state=tick.state, reason=tick.reason, words=tick.words, at=tick.at, by=tick.by)
        if tick.state is not ItemState.BROKEN:
            return
        make += 1
