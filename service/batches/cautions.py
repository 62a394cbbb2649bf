"""What a released job has to say about safety and checking, by the wood it is cut from.

Figures and sources are those of ``check-values.md`` §6: occupational asthma and its agent,
occupationalasthma.com; limit values, osha.gov (ACGIH TLVs and carcinogen classes as OSHA lists them) and the
NIOSH Pocket Guide; black stains, Knaebe, FinishLine, USDA Forest Products Laboratory 2013. Staying with the
machine, clamps and cup are common practice, no source.
"""

from __future__ import annotations

from artwork.findings.wording import at_most
from artwork.workpiece import Allowances, Bit, Slat

DEFERS = (
    "This sheet does not replace the machine's manual, local codes and rules, or the advice of licensed "
    "professionals; where they say more or otherwise, they hold."
)
_NAMES = {
    "western-redcedar": "western red cedar",
    "redwood": "redwood",
    "eastern-white-pine": "eastern white pine",
    "white-oak": "white oak",
    "sapele": "sapele",
    "mahogany": "mahogany",
    "sugar-maple": "sugar maple",
}
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
_BLACK_STAINS = frozenset({"western-redcedar", "redwood", "white-oak", "sapele", "mahogany"})


def wood_name(species: str) -> str:
    """What people call the species."""
    return _NAMES.get(species, species.replace("-", " "))


def cautions(species: str) -> tuple[str, ...]:
    """The cautions for a job in that wood, the gravest first."""
    stain = (
        ("Use stainless fasteners: iron, water and this wood's extractives make blue-black stains.",)
        if species in _BLACK_STAINS
        else ("Use stainless fasteners outdoors.",)
    )
    return (
        _DUST.get(species, _ANY_DUST),
        "Stay with the machine while the router runs; know where its stop is. Wood dust and chips burn.",
        *stain,
        "Carvings hold water outdoors: let them drain, and finish or oil them like the face.",
        "What was approved is the drawn size and depth; colour and grain of the wood vary.",
        DEFERS,
    )


def checks(slat: Slat, bit: Bit, allowances: Allowances, worst_depth: float) -> tuple[str, ...]:
    """What to look at on this board before the first cut; ``worst_depth`` of the carvings, mm below the face."""
    zero = (
        f"Bit zero set on this very board, over the art, then {allowances.sanding:.2f} mm lower to make up "
        "for sanding."
        if allowances.sanding_made_up
        else "Bit zero set on this very board, on its face over the art."
    )
    found = [
        f"Bit {bit.key}: {bit.angle_deg:g}° included, {bit.diameter:.2f} mm across, tip no wider than "
        f"{bit.tip_flat:.2f} mm. Measure it, do not trust the drawer.",
        zero,
        f"The face is flat to ± {allowances.unevenness:.2f} mm over the art: lay a straight edge across. "
        "More cup than that: another board, or surface it first.",
        f"The board is {at_most(worst_depth + allowances.least_wood)} thick or more wherever it is carved: "
        f"{worst_depth:.2f} at worst and {allowances.least_wood:.2f} that must stay. The design has "
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


def order_of_work(slat: Slat, allowances: Allowances) -> tuple[str, ...]:
    """The steps in their order, each with what it takes off."""
    made_up = (
        "already made up for by the bit's zero"
        if allowances.sanding_made_up
        else "grooves get that much shallower"
    )
    return (
        "Carve the art with the V-bit.",
        "Cut the part out with the straight bit.",
        f"Round over every edge, {slat.round_over:.3f} mm radius: shallow grooves near an edge lose depth.",
        f"Sand {allowances.sanding:.2f} mm off the face ({made_up}).",
    )
