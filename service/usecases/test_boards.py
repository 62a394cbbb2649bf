"""Test boards: laid out, read, fitted; and allowances that are accepted from one, with the board as their evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from sqlalchemy import Connection

from artwork.errors import EngineError
from artwork.workpiece import Allowances, Bit
from service.batches.cautions import cautions
from service.orders.actors import Actor, Role
from service.orders.cuts import Circumstances, with_changes
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError, StaleError
from service.orders.ids import new_id
from service.orders.proofs import Proof
from service.orders.test_boards import (
    AcceptFor,
    ShopBoard,
    TestBoardContent,
    content_problems,
    note_problems,
)
from service.orders.workshop import Settings, ShopBit
from service.store import art, boards, orders, shop
from service.usecases import computing, computing_boards
from service.usecases.answers import BlobFile
from service.usecases.blob_refs import add_blob_refs
from service.usecases.cache import Cache
from service.usecases.computing_boards import FittedBoard, LaidOutBoard
from service.usecases.context import Context
from service.usecases.desk import Desk, changing
from service.usecases.drawing import cut_of
from service.usecases.guard import need_role

FORMS = {"svg": "image/svg+xml", "dxf": "image/vnd.dxf", "pdf": "application/pdf", "sheet": "application/pdf"}
"""Form → content type; ``sheet``: what goes to the bench with it."""
MOST_READINGS = 400
RECENT = 20
"""Refused and signed proofs that a proposal is tried on, of each."""
OF_BIT = frozenset({"tip_flat", "angle_deg"})
_SECONDS = 60.0
_WAIT = 10.0
_laid_out: Cache[LaidOutBoard] = Cache(16)
_fitted: Cache[FittedBoard] = Cache(16)


@dataclass(frozen=True)
class BoardSheet:
    """A board with what can be read of it."""

    board: ShopBoard
    laid_out: LaidOutBoard


@dataclass(frozen=True)
class ProposalEffects:
    """What a proposal would change for art that came lately.

    Attributes:
        refused: how many of the last proofs that will not carve were tried.
        now_carve: how many of them would carve.
        signed: how many of the last signed proofs were tried.
        now_unsafe: how many of them would be refused: they rest on a guess that the board does not bear out.
        sentence: in words.
    """

    refused: int
    now_carve: int
    signed: int
    now_unsafe: int
    sentence: str


_weighed: Cache[ProposalEffects] = Cache(16)


def make_test_board(ctx: Context, actor: Actor, content: TestBoardContent) -> ShopBoard:
    """Lay a board out. NotAllowedError, InvalidError (with what offcut or bit to take), TooManyError."""
    need_role(actor, "make test boards", Role.MAKER, Role.HELPER)
    problems = tuple(content_problems(content))
    if problems:
        raise InvalidError(*problems)
    with ctx.store.reading() as connection:
        settings = shop.read_settings(connection, actor.workshop_id)
    bit = settings.bit(content.bit_key)
    if bit is None:
        raise InvalidError(FieldError("bit_key", "unknown", "Choose one of the workshop's bits."))
    allowances = settings.workshop.allowances
    laid_out = _lay_out(ctx, content, bit, allowances)
    with ctx.store.writing() as connection:
        orders.lock_workshop_settings(connection, actor.workshop_id, to_change=True)
        board = ShopBoard(
            id=new_id(),
            workshop_id=actor.workshop_id,
            number=boards.next_number(connection, actor.workshop_id),
            content=content,
            bit=bit,
            allowances=allowances,
            minutes=laid_out.minutes,
            readings={},
            confirmed=(),
            photograph=None,
            note="",
            revision=1,
            made_at=ctx.clock.now(),
        )
        boards.insert_board(connection, board)
    return board


def list_test_boards(ctx: Context, actor: Actor) -> tuple[ShopBoard, ...]:
    """The workshop's test boards, newest first: those accepted are the versions of its allowances. NotAllowedError."""
    need_role(actor, "see test boards", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        return tuple(boards.all_boards(connection, actor.workshop_id))


def get_test_board(ctx: Context, actor: Actor, board_id: str) -> BoardSheet:
    """One board, and every reading that can be taken of it. NotFoundError, NotAllowedError, TooManyError."""
    board = _found(ctx, actor, board_id)
    return BoardSheet(board, _lay_out(ctx, board.content, board.bit, board.allowances))


def board_drawing(ctx: Context, actor: Actor, board_id: str, form: str) -> tuple[bytes, str]:
    """A board as one of :data:`FORMS`, and its content type. NotFoundError, NotAllowedError, TooManyError."""
    if form not in FORMS:
        raise NotFoundError("form")
    board = _found(ctx, actor, board_id)
    given = (board.content.blank, board.bit, board.allowances, form, cautions(board.content.species))
    return ctx.compute.run(computing_boards.draw, *given, wait=_WAIT), FORMS[form]


def save_readings(
    ctx: Context,
    actor: Actor,
    board_id: str,
    readings: Mapping[str, float | None],
    *,
    confirmed: Sequence[str] = (),
    note: str | None = None,
) -> ShopBoard:
    """Keep readings beside those there are; ``None`` forgets one. Two people may read one board at once.

    NotFoundError, NotAllowedError, InvalidError.
    """
    need_role(actor, "read test boards", Role.MAKER, Role.HELPER)
    if len(readings) > MOST_READINGS:
        raise InvalidError(FieldError("readings", "count", f"Send at most {MOST_READINGS} at once."))
    sheet = get_test_board(ctx, actor, board_id)
    problems = tuple(_reading_problems(sheet, readings, confirmed))
    problems += () if note is None else tuple(note_problems(note))
    if problems:
        raise InvalidError(*problems)
    with ctx.store.writing() as connection:
        board = _locked(connection, actor, board_id)
        kept = {key: value for key, value in {**board.readings, **readings}.items() if value is not None}
        after = replace(
            board,
            readings=kept,
            confirmed=tuple(sorted({*board.confirmed, *confirmed} & set(kept))),
            note=board.note if note is None else note,
            revision=board.revision + 1,
        )
        boards.update_board(connection, after)
    return after


def keep_board_photograph(ctx: Context, actor: Actor, board_id: str, data: bytes) -> ShopBoard:
    """Keep a photograph with a board, in place of an earlier one. NotFoundError, NotAllowedError, InvalidError."""
    need_role(actor, "read test boards", Role.MAKER, Role.HELPER)
    _found(ctx, actor, board_id)
    try:
        picture = ctx.compute.run(computing_boards.photograph, data, wait=_WAIT, stranger=True)
    except EngineError as refusal:
        raise InvalidError(FieldError("file", refusal.code, str(refusal))) from None
    digest = ctx.blobs.put(picture)
    with ctx.store.writing() as connection:
        board = _locked(connection, actor, board_id)
        add_blob_refs(ctx, connection, (digest, picture))
        after = replace(board, photograph=digest, revision=board.revision + 1)
        boards.update_board(connection, after)
    return after


def board_photograph(ctx: Context, actor: Actor, board_id: str) -> BlobFile:
    """The photograph kept with a board. NotFoundError, NotAllowedError."""
    board = _found(ctx, actor, board_id)
    if board.photograph is None:
        raise NotFoundError("photograph")
    return BlobFile(board.photograph, "image/jpeg", f"test-board-{board.number}.jpg", original=False)


def fit_test_board(ctx: Context, actor: Actor, board_id: str) -> FittedBoard:
    """The shop's figures from a board's readings, each with its interval, and what they speak for.

    NotFoundError, NotAllowedError, InvalidError (too little was read; which readings would help most), TooManyError.
    """
    board = _found(ctx, actor, board_id)
    with ctx.store.reading() as connection:
        settings = shop.read_settings(connection, actor.workshop_id)
    return _fit(ctx, board, settings)


def weigh_test_board(ctx: Context, actor: Actor, board_id: str) -> ProposalEffects:
    """What the proposal changes for the last refused and the last signed proofs. As :func:`fit_test_board`."""
    board = _found(ctx, actor, board_id)
    with ctx.store.reading() as connection:
        settings = shop.read_settings(connection, actor.workshop_id)
        refused = art.last_refused(connection, actor.workshop_id, RECENT)
        signed = art.last_signed(connection, actor.workshop_id, RECENT)
    fitted = _fit(ctx, board, settings)
    of_what = (board.id, board.revision, settings.workshop.revision, *(p.id for p in (*refused, *signed)))
    known = _weighed.get(of_what)
    if known is None:
        verdicts = [_verdict(ctx, proof, fitted) for proof in (*refused, *signed)]
        carve = sum(verdict != "will-not-carve" for verdict in verdicts[: len(refused)])
        unsafe = sum(verdict == "will-not-carve" for verdict in verdicts[len(refused) :])
        known = ProposalEffects(
            len(refused),
            carve,
            len(signed),
            unsafe,
            f"{carve} of the last {len(refused)} refused pieces would carve; {unsafe} of the last {len(signed)} signed "
            "ones would be refused.",
        )
        _weighed.put(of_what, known)
    return known


def accept_test_board(
    ctx: Context,
    actor: Actor,
    board_id: str,
    expected_revision: int,
    names: tuple[str, ...],
    *,
    accept_for: AcceptFor = "workshop",
) -> ShopBoard:
    """Take what the board proposes for these figures into the settings; the board is their evidence.

    Open proofs that are concerned become stale; signed ones keep theirs where they were released.
    ``accept_for`` ``wood``: for the slats of the board's wood alone.
    NotFoundError, NotAllowedError, InvalidError, StaleError (``expected_revision`` is the board's), ConflictError
    "nothing-to-accept".
    """
    sheet = get_test_board(ctx, actor, board_id)
    fit_test_board(ctx, actor, board_id)  # kept for below, where others wait
    with changing(ctx, actor) as desk:
        board = _locked(desk.connection, actor, board_id)
        if board.revision not in {expected_revision} & {sheet.board.revision}:
            raise StaleError(board.revision)
        fitted = _fit(ctx, board, desk.settings)
        proposed = {each.name: each for each in fitted.changes}
        unknown = [name for name in names if name not in proposed]
        if unknown:
            told = f"The board says nothing of {', '.join(unknown)}."
            raise InvalidError(FieldError("names", "unknown", told))
        wanted = {name: proposed[name] for name in names if proposed[name].proposed != proposed[name].today}
        if not wanted:
            raise ConflictError("nothing-to-accept", "These figures are as the board proposes them already.")
        made = {name: (each.today, each.proposed) for name, each in wanted.items()}
        _take_over(desk, board, {name: each.proposed for name, each in wanted.items()}, accept_for)
        accepted = replace(
            board,
            accepted_at=ctx.clock.now(),
            accepted_as=desk.settings.workshop.revision + 1,
            accepted=made,
            revision=board.revision + 1,
        )
        boards.update_board(desk.connection, accepted)
        desk.changed(
            f"its allowances by test board {board.number} ({', '.join(made).replace('_', ' ')})",
            allowances={name: list(pair) for name, pair in made.items()},
            test_board=board.id,
            accept_for=accept_for,
            bit=board.bit.key,
            wood=board.content.species,
            holding=board.content.holding,
            figures=[asdict(figure) for figure in fitted.figures],
            revision=accepted.accepted_as,
        )
        return accepted


def _take_over(desk: Desk, board: ShopBoard, values: Mapping[str, float], accept_for: AcceptFor) -> None:
    """Store the figures: the bit's with the bit, the others with the workshop or with the slats of the wood."""
    workshop = desk.settings.workshop
    of_bit = {name: value for name, value in values.items() if name in OF_BIT}
    others = {name: value for name, value in values.items() if name not in OF_BIT}
    if of_bit:
        known = next(owned for owned in desk.settings.bits if owned.bit.key == board.bit.key)
        bit = replace(known.bit, **of_bit)  # type: ignore[arg-type]
        shop.save_bit(desk.connection, workshop.id, ShopBit(bit, known.revision + 1, known.retired))
    allowances = workshop.allowances
    if accept_for == "workshop":
        allowances = with_changes(allowances, others)
    elif others:
        _for_wood(desk, board.content.species, others)
    shop.update_workshop(
        desk.connection, replace(workshop, allowances=allowances, revision=workshop.revision + 1)
    )


def _for_wood(desk: Desk, species: str, values: Mapping[str, float]) -> None:
    for model in desk.settings.models:
        keys = [each.slat.key for each in model.layout.slats if each.slat.species == species]
        if keys:
            changed = {key: {**model.allowances.get(key, {}), **values} for key in keys}
            after = replace(model, allowances={**model.allowances, **changed}, revision=model.revision + 1)
            shop.save_model(desk.connection, desk.settings.workshop.id, after)


def _verdict(ctx: Context, proof: Proof, fitted: FittedBoard) -> str:
    """What the checks would say of a proof's cut with the proposed figures."""
    at, placement = cut_of(proof)
    values: dict[str, Any] = {each.name: each.proposed for each in fitted.changes}
    of_bit = {name: values.pop(name) for name in tuple(values) if name in OF_BIT}
    changed = Circumstances(at.slat, replace(at.bit, **of_bit), with_changes(at.allowances, values), at.seat)
    outline = ctx.blobs.get(proof.outline)
    judged = ctx.compute.run(
        computing.judge, outline, changed, placement, False, about=proof.outline, wait=_WAIT
    )
    return judged.verdict


def _fit(ctx: Context, board: ShopBoard, settings: Settings) -> FittedBoard:
    bit = settings.bit(board.bit.key) or board.bit
    today = (bit, settings.workshop.allowances)
    of_what = (board.id, board.revision, repr(today))
    known = _fitted.get(of_what)
    if known is None:
        laid_out_with = (board.bit, board.allowances)
        given = (board.content.blank, laid_out_with, dict(board.readings), board.confirmed, today)
        try:
            known = ctx.compute.run(computing_boards.fit, *given, wait=_WAIT, seconds=_SECONDS)
        except EngineError as refusal:
            raise InvalidError(FieldError("readings", refusal.code, str(refusal))) from None
        _fitted.put(of_what, known)
    return known


def _lay_out(ctx: Context, content: TestBoardContent, bit: Bit, allowances: Allowances) -> LaidOutBoard:
    of_what = (repr((content, bit, allowances)),)
    known = _laid_out.get(of_what)
    if known is None:
        try:
            known = ctx.compute.run(computing_boards.lay_out, content.blank, bit, allowances, wait=_WAIT)
        except EngineError as refusal:
            raise InvalidError(FieldError("", refusal.code, str(refusal))) from None
        _laid_out.put(of_what, known)
    return known


def _reading_problems(
    sheet: BoardSheet, readings: Mapping[str, float | None], confirmed: Sequence[str]
) -> list[FieldError]:
    known = {each.key: each for each in sheet.laid_out.readings}
    problems = []
    for key, value in readings.items():
        if key not in known:
            problems.append(FieldError(f"readings.{key}", "unknown", "This board has no such reading."))
        elif value is not None and known[key].unit == "tap" and value not in (0, 1):
            problems.append(FieldError(f"readings.{key}", "out-of-range", "Give 0 or 1."))
        elif value is not None and not 0 <= value <= 500:
            problems.append(FieldError(f"readings.{key}", "out-of-range", "Give 0 to 500 mm."))
    problems += [
        FieldError("confirmed", "unknown", f"This board has no reading {key!r}.")
        for key in confirmed
        if key not in known
    ]
    return problems


def _found(ctx: Context, actor: Actor, board_id: str) -> ShopBoard:
    need_role(actor, "see test boards", Role.MAKER, Role.HELPER)
    with ctx.store.reading() as connection:
        board = boards.find_board(connection, actor.workshop_id, board_id)
    if board is None:
        raise NotFoundError("test board")
    return board


def _locked(connection: Connection, actor: Actor, board_id: str) -> ShopBoard:
    board = boards.find_board(connection, actor.workshop_id, board_id, lock=True)
    if board is None:
        raise NotFoundError("test board")
    return board
