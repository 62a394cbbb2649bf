"""The workshop's machine, as it is asked for."""

from __future__ import annotations

from service.orders.board_kinds import BoardKind
from service.orders.machine import Machine
from service.rest.requests.base import asked

BoardKindAsk = asked(BoardKind, "BoardKindAsk", "One kind of board as the workshop keeps it.")
MachineAsk = asked(
    Machine,
    "MachineAsk",
    "What a batch's drawings and sheets, and the plan of boards and days, are made for.",
    {BoardKind: BoardKindAsk},
)
