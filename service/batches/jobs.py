"""What a job sheet says of one carving, and of several that share a set-up."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from artwork.drawings import MachineFrame
from artwork.findings.wording import at_least, at_most
from artwork.furniture import ModelLayout
from artwork.proof_facts import allowances_of, bit_of
from artwork.workpiece import Allowances, Bit
from service.batches.approvals import Decision
from service.batches.cautions import FINISH_NAMES, wood_name
from service.batches.content import CarvingContent
from service.batches.sheet_figure import Figure, bare_figure, with_art
from service.orders.program_checks import ProgramOutcome

LONGEST_TEXT = 20
"""Characters of a piece's text that the sheet's table has room for; the drawing has all of it."""
_CHECKED: Mapping[ProgramOutcome, str] = {
    "cuts-what-was-signed": "CHECKED: it cuts what was signed",
    "differs": "NOT GOOD: it differs from what was signed",
    "is-not-this-carving": "NOT GOOD: it is not this carving",
}
FEW = 3
"""Up to so many carvings of the same set-up have a block each."""
MOST_DRAWN = 24
"""Up to so many carvings of one set-up are drawn small, each with its number; of more, only the first."""


@dataclass(frozen=True, eq=False)
class Job:
    """One carving as a job sheet needs it, without its files.

    Attributes:
        number: of its folder within the order, from 1.
        folder: name of its folder.
        slat_name, model_name: what people call them.
        where: on which pieces, in words.
        pieces: how many times it is cut.
        digest: of its proof.
        waived: remarks the client accepted.
        figures: those of the check.
        sentences: what the check has to say, finding by finding.
        bit, allowances, figure: of the cut.
        program: what the last check of a machine program for it said; empty for none.
    """

    number: int
    folder: str
    slat_name: str
    model_name: str
    where: str
    pieces: int
    digest: str
    waived: tuple[str, ...]
    figures: Mapping[str, Any]
    sentences: tuple[str, ...]
    bit: Bit
    allowances: Allowances
    figure: Figure
    program: str = ""


class JobList:
    """The jobs of one order, gathered carving by carving.

    The art of the first few of each set-up is kept to be drawn; that of a long run would fill the memory, and
    many sheets on which one name looks like the next.
    """

    def __init__(self, frame: MachineFrame, models: Mapping[str, ModelLayout] = MappingProxyType({})) -> None:
        self.jobs: list[Job] = []
        self._rear = {
            (key, placed.slat.key)
            for key, model in models.items()
            for placed in model.slats
            if placed.face == "rear"
        }
        self._frame = frame
        self._drawn: Counter[Hashable] = Counter()
        self._slat: tuple[Any, Figure] | None = None

    def add(
        self,
        carving: CarvingContent,
        facts: Mapping[str, Any],
        folder: str,
        program: Decision | None = None,
    ) -> None:
        """One more; ``facts`` are those of its proof, ``folder`` names its folder, ``program`` is the last check of
        one for it.
        """
        job = Job(
            number=len(self.jobs) + 1,
            folder=folder,
            slat_name=carving.slat_name + self._face(carving),
            model_name=carving.model_name,
            where=_where(carving),
            pieces=carving.pieces,
            digest=carving.digest,
            waived=carving.waived,
            figures=carving.check.get("figures", {}),
            sentences=tuple(str(finding["message"]) for finding in carving.check.get("findings", ())),
            bit=bit_of(facts),
            allowances=allowances_of(facts),
            figure=self._bare(facts),
            program="" if program is None else _program_words(program),
        )
        setup = _setup_of(job)
        if self._drawn[setup] < MOST_DRAWN:
            self._drawn[setup] += 1
            job = replace(job, figure=with_art(job.figure, facts, self._frame))
        self.jobs.append(job)

    def _face(self, carving: CarvingContent) -> str:
        return ": rear face" if (carving.model_key, carving.slat_key) in self._rear else ""

    def _bare(self, facts: Mapping[str, Any]) -> Figure:
        """The slat's own drawing; the last one again where the slat is the same."""
        if self._slat is None or self._slat[0] != facts["slat"]:
            self._slat = facts["slat"], bare_figure(facts, self._frame)
        return self._slat[1]


def _program_words(check: Decision) -> str:
    said = _CHECKED[check.facts["outcome"]]
    return f"Program {said} (record entry {check.number}). SHA-256 {check.facts['program']}"


def program_line(setup: Sequence[Job]) -> str:
    """What was checked of a set-up's programs; empty for nothing."""
    told = [job.program for job in setup if job.program]
    if len(setup) == 1 or not told:
        return "".join(told)
    return f"Programs were checked for {len(told)} of {len(setup)}; the sheet of program checks names each."


def _where(carving: CarvingContent) -> str:
    """On which pieces; a piece with a text of its own says which."""
    line = f"line {carving.line}"
    if carving.piece is None:
        own = "" if carving.mark is None else f": own mark v{carving.mark}"
        pieces = f"the piece of {line}" if carving.pieces == 1 else f"all {carving.pieces} pieces of {line}"
        return pieces + own
    text = " / ".join(carving.text.splitlines())
    shown = text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"
    return f"piece {carving.piece} of {line}" + (f": {shown}" if shown else "")


def setups(jobs: Sequence[Job]) -> list[list[Job]]:
    """Carvings that differ in nothing but the art, together, where there are more than a few of them."""
    together: dict[Hashable, list[Job]] = defaultdict(list)
    for job in jobs:
        together[_setup_of(job)].append(job)
    found = []
    for several in together.values():
        found += [several] if len(several) > FEW else [[job] for job in several]
    return sorted(found, key=lambda setup: setup[0].number)


def _setup_of(job: Job) -> Hashable:
    """What two carvings of one set-up have in common."""
    slat = job.figure.slat
    return job.model_name, slat.key, slat.thickness, slat.finish, slat.outline.wkb, job.bit, job.allowances


def cut_facts(setup: Sequence[Job]) -> list[tuple[str, str]]:
    """What is cut, name and words: each figure the worst of the set-up's carvings."""
    job, slat = setup[0], setup[0].figure.slat
    depth, deepest = (max(float(each.figures[name]) for each in setup) for name in ("depth", "deepest_cut"))
    limit = min(float(each.figures["depth_limit"]) for each in setup)
    left = min(float(each.figures["wood_left"]) for each in setup)
    widest, highest = (max(float(each.figures[side]) for each in setup) for side in ("width", "height"))
    return [
        ("board", f"{slat.thickness:.2f} mm {wood_name(slat.species)}, face up"),
        *([("finish", FINISH_NAMES[slat.finish])] if slat.finish in FINISH_NAMES else []),
        ("bit", f"{job.bit.key}: {job.bit.angle_deg:g}°, {job.bit.diameter:.2f} mm across"),
        ("programme depth", f"{at_least(depth)}; limit {at_least(limit)}"),
        ("worst depth", f"{at_most(deepest)}, where the board stands {job.allowances.unevenness:.2f} high"),
        ("wood left under that", at_least(left)),
        ("least line", _tightest(setup, "least_line")),
        ("least land", _tightest(setup, "least_land")),
        ("art", f"{widest:.2f} × {highest:.2f} mm" + (" at most" if len(setup) > 1 else "")),
    ]


def job_facts(setup: Sequence[Job], where: str) -> list[tuple[str, str]]:
    """How it is cut, name and words; ``where`` says on what."""
    allowances = setup[0].allowances
    longest = max(float(each.figures["minutes"]) for each in setup)
    sanding = "made up for by the bit's zero" if allowances.sanding_made_up else "after carving"
    facts = [
        ("cut on", where),
        (
            "carving time",
            f"about {longest:.1f} min each" + (" at most" if len(setup) > 1 else "") + ", an estimate",
        ),
        ("sanding", f"{allowances.sanding:.2f} mm, {sanding}"),
        ("board uneven up to", f"± {allowances.unevenness:.2f} mm"),
        ("passes", f"{allowances.pass_depth:.2f} mm deep at most"),
        ("feed, plunge", f"{allowances.feed:g} and {allowances.plunge:g} mm/min"),
    ]
    remarks = tuple(dict.fromkeys(words for each in setup for words in each.sentences))
    if remarks:
        more = f" And {len(remarks) - 2} more." if len(remarks) > 2 else ""
        facts.append(("accepted remarks", " ".join(remarks[:2]) + more))
    return facts


def _tightest(setup: Sequence[Job], figure: str) -> str:
    """The line or land with the least to spare of all, and what it needs."""
    known = [
        (each.figures[figure], each.figures[f"{figure}_required"])
        for each in setup
        if each.figures[figure] is not None
    ]
    if not known:
        return "none"
    measured, required = min(known, key=lambda pair: pair[0] - pair[1])
    return f"{at_least(measured)}, needs {required:.2f} mm"
