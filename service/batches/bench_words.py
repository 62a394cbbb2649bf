"""What a job sheet says of bits, holding and safety: the workshop's own settings, and cautions with their sources.

Sources are those of ``docs/sources.md`` §6. Every caution defers to the machine's manual, local codes and rules, and
licensed practice (:data:`service.batches.cautions.DEFERS`).
"""

from __future__ import annotations

from collections.abc import Iterable

from artwork.workpiece import Allowances, Bit
from service.orders.machine import Machine

SMALLEST_BY_HAND = 305.0
"""Parts shorter than this are not passed over a router table by hand, mm (12 in)."""


def bit_words(machine: Machine, cut_with: Iterable[tuple[Bit, Allowances]]) -> tuple[str, ...]:
    """Every bit of a job with its number, speed and feeds; ``cut_with``: V-bits of its carvings and what they are
    judged by."""
    found: list[str] = []
    cut_with = tuple(dict.fromkeys(cut_with))
    for bit, allowances in cut_with:
        found.append(
            f"T{machine.v_tool}  V-bit {bit.key}, {bit.angle_deg:g}°, {bit.diameter:.2f} mm: "
            f"{machine.v_speed:g} turns/min, feed {allowances.feed:g}, plunge {allowances.plunge:g} mm/min, "
            f"passes {allowances.pass_depth:.2f} mm deep."
        )
        if allowances.flat_bit > 0:
            found.append(
                f"T{machine.flat_tool}  flat bit for floors, {allowances.flat_bit:.2f} mm: "
                f"{machine.flat_speed:g} turns/min, feed {allowances.feed:g} mm/min."
            )
    found.append(
        f"T{machine.straight_tool}  straight bit, {machine.kerf:.2f} mm: {machine.straight_speed:g} turns/min, feed "
        f"{machine.straight_feed:g}, plunge {machine.straight_plunge:g} mm/min, "
        f"passes {machine.straight_pass:.2f} mm deep."
    )
    if len({bit.key for bit, _ in cut_with}) > 1:
        found.append(
            f"The V-bits take turns as T{machine.v_tool}: the block of a carving names its own. "
            "Power off to change them, and set the zero anew."
        )
    return tuple(dict.fromkeys(found))


def holding_words(machine: Machine) -> tuple[str, ...]:
    """How boards are held, where zero is set, and how parts are cut out."""
    zero = (
        "Set the bit's zero on every board, over the art."
        if machine.zero_per == "board"
        else "Set the bit's zero once for the bed: only where its boards are of one thickness within the unevenness "
        "that was judged; measure them first."
    )
    tabs = (
        f"Leave tabs {machine.tab_width:g} mm wide and {machine.tab_height:g} mm high, where the bed drawing has them; "
        "saw them off before rounding over."
        if machine.tab_width > 0
        else "No tabs are drawn: hold every part by screws, tape or vacuum until the spindle stands still."
    )
    return (
        zero,
        "Screw boards down at the marked places only: in the holes that are drilled anyway, or within the circles; "
        "screw heads below the deepest cut. A board whose label says so has no room for two screws: clamp its ends or "
        "use double-sided tape (common practice, no source).",
        tabs,
        f"Between parts the straight bit takes {machine.kerf:g} mm; {machine.end_trim:g} mm come off both ends of "
        "a board.",
    )


def safety_words(shortest: float) -> tuple[str, ...]:
    """The cautions of every job, the gravest first.

    Args:
        shortest: length of the shortest part that is rounded over, mm.
    """
    jig = (
        f" The shortest part here is {shortest:.0f} mm: hold it in a jig."
        if shortest < SMALLEST_BY_HAND
        else ""
    )
    return (
        "Eyes: safety glasses with side protection wherever chips fly (29 CFR 1910.133(a)).",
        "Ears: protection at a router; a hearing programme is due from 85 dBA over 8 hours (29 CFR 1910.95(c); NIOSH's "
        "limit is 85 dBA as well).",
        "Bit change: power off and plug out, the plug in your own hand or sight (29 CFR 1910.147(a)(2)); hands "
        "stay off until the spindle stands.",
        "First run of a program: an air cut well above the board, a hand at the stop (common practice, no source).",
        "Screws, clamps and staples lie clear of every cut and below the bit's deepest way into the spoil board "
        "(common practice, no source).",
        "Never leave the machine running unattended (a code of practice's rule for machines that are not automatic; "
        "house rules of school shops).",
        "Router table: seen from above the bit turns counter-clockwise: feed against it, right to left along the "
        "front of the fence, never between bit and fence (a router table's manual; trade magazine).",
        f"Parts under {SMALLEST_BY_HAND:.0f} mm (12 in) are rounded over in a jig only, hands 100 mm (4 in) from "
        f"the bit, with push blocks and featherboards (a school shop's rules; trade magazine).{jig}",
        "A round-over bit with its bearing is wide: run it at the speed its maker gives, in light passes "
        "(trade magazine).",
    )
