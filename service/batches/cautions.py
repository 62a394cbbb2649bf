"""What a released job has to say about safety and checking, by the wood it is cut from.

Figures and sources are those of ``docs/sources.md`` §6: occupational asthma and its agent,
occupationalasthma.com; limit values, osha.gov (ACGIH TLVs and carcinogen classes as OSHA lists them) and the
NIOSH Pocket Guide; black stains, Knaebe, FinishLine, USDA Forest Products Laboratory 2013. Staying with the
machine, clamps and cup are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from artwork.findings.wording import at_least, at_most
from artwork.floors import step_of
from artwork.tooling import slope
from artwork.wood import SPECIES, change
from artwork.workpiece import BARE, OILED, PAINT_FILLED, Allowances, Bit, Slat
from service.language.chosen import N_
from service.orders.machine import ZeroPer

DEFERS = (
    "This sheet does not replace the machine's manual, local codes and rules, or the advice of licensed "
    "professionals; where they say more or otherwise, they hold."
)
_ANY_DUST = (
    "Wood dust harms the lungs and burns; NIOSH names it a potential carcinogen (recommended limit 1 mg/m³). "
    "Extract at the source, keep the room clean, wear a fitted respirator."
)
_DUST = {
    "western-redcedar": (
        "Western red cedar dust is a sensitiser: 4 to 13.5 % of people exposed get occupational asthma from "
        "it (plicatic acid). Limit 0.5 mg/m³ inhalable (ACGIH). Extract at the source and wear a fitted "
        "respirator; whoever coughs or wheezes stops and sees a doctor."
    ),
    "white-oak": (
        "Oak dust is a confirmed human carcinogen (ACGIH A1). Limit 1 mg/m³. Extract at the source, wear a "
        "fitted respirator, never dry-sweep."
    ),
    "mahogany": (
        "Mahogany dust is a suspected human carcinogen (ACGIH A2). Limit 1 mg/m³. Extract at the source, "
        "wear a fitted respirator."
    ),
    "sapele": (
        "Sapele is a tropical hardwood: treat its dust as a carcinogen and a sensitiser. Limit 1 mg/m³. "
        "Extract at the source, wear a fitted respirator."
    ),
}
_BEFORE_SANDING = {
    PAINT_FILLED: (
        "Seal the face and the grooves, so that paint does not creep along the grain; fill the grooves with outdoor "
        "paint; let it dry as its label says. What is on the face comes off with the sanding.",
    )
}
_AFTER_SANDING = {
    OILED: ("Oil it all over, end grain and grooves well; wipe off what stands in the grooves.",)
}
_FINISH_CAUTIONS = {
    OILED: (
        "Rags with drying oil heat up by themselves and burn: lay them out flat outdoors, or keep them under water in "
        "a closed metal can (common practice, no source; the oil's label holds).",
    ),
    PAINT_FILLED: (
        "Sanding takes paint off as dust: extract it and wear the respirator for it too; air the room while sealer "
        "and paint dry (common practice, no source; their labels hold).",
    ),
}
FINISH_NAMES = {OILED: N_("oiled"), PAINT_FILLED: N_("grooves filled with paint")}
_BLACK_STAINS = frozenset({"western-redcedar", "redwood", "white-oak", "sapele", "mahogany"})


def cautions(species: str, finish: str = BARE) -> tuple[str, ...]:
    """The cautions for a job in that wood with that finish, the gravest first."""
    stain = (
        ("Use stainless fasteners: iron, water and this wood's extractives make blue-black stains.",)
        if species in _BLACK_STAINS
        else ("Use stainless fasteners outdoors.",)
    )
    return (
        _DUST.get(species, _ANY_DUST),
        "Stay with the machine while the router runs; know where its stop is. Wood dust and chips burn.",
        *_FINISH_CAUTIONS.get(finish, ()),
        *stain,
        "Carvings hold water outdoors: let them drain, and finish or oil them like the face.",
        "What was approved is the drawn size and depth; colour and grain of the wood vary.",
        DEFERS,
    )


def across_grain(slat: Slat) -> float:
    """The width over which a slat's wood moves with its moisture, mm: square to its grain."""
    left, low, right, high = slat.outline.bounds
    heading = math.radians(slat.grain_deg)
    return (right - left) * abs(math.sin(heading)) + (high - low) * abs(math.cos(heading))


def advice(slat: Slat, allowances: Allowances, *, floors: bool) -> tuple[str, ...]:
    """What spoils boards where nobody says it, each with where it comes from; ``floors``: flat bottoms among it."""
    across = across_grain(slat)
    found = [
        "Walls across the grain tear out: use a sharp bit, and leave about 0.3 mm for a light last pass along "
        "everything (common practice, no source).",
        "Lay the board so that no knot, pitch pocket or check lies under the art: knots break out of thin walls, "
        "and pitch glues chips to the bit (common practice, no source).",
    ]
    if floors:
        found.append(
            "Flat bottoms hold water: set the part so that they drain, seal their end grain, and look at them every "
            "year (common practice, no source)."
        )
    if slat.species in SPECIES:
        grown = change(across, SPECIES[slat.species], 9.0, 12.0)
        found.append(
            f"Carve at the moisture the part will live in: a board {across:.0f} mm wide grows by about "
            f"{grown:.1f} mm from 9 to 12 % (Wood Handbook, FPL-GTR-190, Table 13-5)."
        )
    if allowances.finish_film > 0:
        found.append(
            f"Judged for a finish {allowances.finish_film:.2f} mm thick: a thicker coat fills the thinnest lines."
        )
    return tuple(found)


def checks(
    slat: Slat, bit: Bit, allowances: Allowances, worst_depth: float, spare: float, *, zero_per: ZeroPer
) -> tuple[str, ...]:
    """What to look at on this board before the first cut.

    Args:
        slat, bit, allowances: of the carvings.
        worst_depth: of the carvings, mm below the face.
        spare: what their tightest line has above its need, mm.
        zero_per: whether the bit's zero is set on every board, or once for the bed.
    """
    where = (
        "on this very board, over the art"
        if zero_per == "board"
        else f"for the bed, and this board's face over the art within ± {at_least(allowances.unevenness)} of it"
    )
    zero = f"Bit zero set {where}" + (
        f"; then {allowances.sanding:.2f} mm lower to make up for sanding."
        if allowances.sanding_made_up
        else "."
    )
    found = [
        f"Bit {bit.key}: {bit.angle_deg:g}° included, {bit.diameter:.2f} mm across, flat at the tip no wider than "
        f"{at_least(bit.tip_flat)}. Measure it with a loupe, or from a test groove: its width less "
        f"{2 * slope(bit):.3f} × its depth. Worn beyond {at_least(bit.tip_flat + max(spare, 0.0))}, the thinnest "
        "line does not last.",
        zero,
        f"The face is flat to ± {at_least(allowances.unevenness)} over the art: lay a straight edge across. "
        + (
            f"A cup of {allowances.cup:.2f} mm over the whole board is allowed for besides. "
            if allowances.cup > 0
            else ""
        )
        + "More than that: another board, or surface it first.",
        f"The board is {at_most(worst_depth + allowances.least_wood)} thick or more wherever it is carved: "
        f"{at_most(worst_depth)} at worst and {allowances.least_wood:.2f} mm that must stay. The design has "
        f"{slat.thickness:.2f} mm.",
        "No clamp, screw, staple or metal within the art and the bit's way.",
        "Face up, top end as drawn, zero mark where the drawing has it.",
    ]
    if slat.mill_radius > 0:
        found.append(
            f"The board's own edges are rounded {slat.mill_radius:.2f} mm: lay it by its middle, not by its "
            "edge."
        )
    return tuple(found)


def order_of_work(works: Iterable[tuple[Slat, Bit, Allowances]], *, floors: bool) -> tuple[str, ...]:
    """The steps in their order, each once and with what it takes off.

    Args:
        works: board, bit and allowances of every carving. What differs between them stands side by side in its step's
            place: whatever is carved is carved before anything is cut out.
        floors: whether flat bottoms are among the carvings.
    """
    told = [_stages(*each, floors=floors) for each in works]
    return tuple(dict.fromkeys(words for stage in zip(*told, strict=True) for words in _flat(stage)))


def _flat(stage: Iterable[tuple[str, ...]]) -> Iterable[str]:
    return (words for several in stage for words in several)


def _stages(slat: Slat, bit: Bit, allowances: Allowances, *, floors: bool) -> tuple[tuple[str, ...], ...]:
    """What one carving has to say at every stage of the work."""
    made_up = (
        "already made up for by the bit's zero"
        if allowances.sanding_made_up
        else "grooves get that much shallower"
    )
    last = allowances.last_pass
    carve = f", the last {last:.2f} mm as a light pass along everything" if last > 0 else ""
    return (
        (f"Carve the art with the V-bit{carve}.",),
        (_floor_step(bit, allowances),) if floors else (),
        ("Cut the part out with the straight bit.",),
        (
            f"Round over every edge, {slat.round_over:.3f} mm radius: shallow grooves near an edge lose depth.",
        ),
        _BEFORE_SANDING.get(slat.finish, ()),
        (f"Sand {allowances.sanding:.2f} mm off the face ({made_up}).",),
        _AFTER_SANDING.get(slat.finish, ()),
    )


def _floor_step(bit: Bit, allowances: Allowances) -> str:
    """How flat bottoms are cleared."""
    rest = f"in lines {step_of(bit, allowances):.2f} mm apart, which leave ridges {allowances.floor_ridge:.2f} mm high"
    if allowances.flat_bit <= 0:
        return f"Flat bottoms: with the V-bit “{bit.key}” {rest}."
    return (
        f"Flat bottoms: change to the flat bit, {allowances.flat_bit:.2f} mm across, set its zero on the same face "
        f"as the V-bit's, clear in lines {allowances.flat_bit * allowances.flat_bit_step:.2f} mm apart; what it does "
        f"not reach with the V-bit “{bit.key}”, {rest}."
    )
