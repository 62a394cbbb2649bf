"""The boards and the pace of a workshop, from its machine's settings."""

from __future__ import annotations

from service.boards.schedule import Pace
from service.boards.stock import Stock
from service.orders.machine import Machine


def stocks_of(machine: Machine) -> tuple[tuple[Stock, tuple[float, ...]], ...]:
    """The kinds of boards that parts are cut from, each with the lengths of its offcuts, mm."""
    if not machine.stock:
        return ((_usual_stock(machine), ()),)
    return tuple(
        (
            Stock(
                kind.name,
                kind.length,
                kind.width,
                kind.thickness,
                kerf=machine.kerf,
                end_trim=machine.end_trim,
                wood=kind.wood,
                on_hand=kind.on_hand,
            ),
            kind.offcuts,
        )
        for kind in machine.stock
    )


def _usual_stock(machine: Machine) -> Stock:
    usual = Stock()
    name = usual.name
    if (machine.board_length, machine.board_width) != (usual.length, usual.width):
        name = f"board {machine.board_width:g} × {machine.board_length:g} mm"
    return Stock(
        name, machine.board_length, machine.board_width, kerf=machine.kerf, end_trim=machine.end_trim
    )


def pace_of(machine: Machine) -> Pace:
    """How fast the shop works."""
    room = machine.bed_width - 2 * machine.bed_margin + machine.board_spacing
    return Pace(
        day_minutes=machine.day_minutes,
        load_minutes=machine.load_minutes,
        cut_feed=machine.straight_feed,
        cut_pass=machine.straight_pass,
        cut_plunge=machine.straight_plunge,
        change_minutes=machine.change_minutes,
        boards_a_bed=max(int(room // (machine.board_width + machine.board_spacing)), 1),
    )
