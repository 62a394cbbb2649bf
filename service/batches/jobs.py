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
from service.batches.cautions import FINISH_NAMES
from service.batches.content import CarvingContent
from service.batches.sheet_figure import Figure, bare_figure, with_art
from service.language.chosen import ENGLISH, N_, _, spoken
from service.language.figures import decimal
from service.language.phrasebook import figures, told
from service.language.woods import wood_words
from service.orders.program_checks import ProgramOutcome

LONGEST_TEXT = 20
"""Characters of a piece's text that the sheet's table has room for; the drawing has all of it."""
_CHECKED: Mapping[ProgramOutcome, str] = {
    "cuts-what-was-signed": N_("CHECKED: it cuts what was signed"),
    "differs": N_("NOT GOOD: it differs from what was signed"),
    "is-not-this-carving": N_("NOT GOOD: it is not this carving"),
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

    def __init__(
        self,
        frame: MachineFrame,
        models: Mapping[str, ModelLayout] = MappingProxyType({}),
        language: str = ENGLISH,
    ) -> None:
        self.jobs: list[Job] = []
        self._rear = {
            (key, placed.slat.key)
            for key, model in models.items()
            for placed in model.slats
            if placed.face == "rear"
        }
        self._frame, self._language = frame, language
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
        with spoken(self._language):
            job = self._job(carving, facts, folder, program)
        setup = _setup_of(job)
        if self._drawn[setup] < MOST_DRAWN:
            self._drawn[setup] += 1
            job = replace(job, figure=with_art(job.figure, facts, self._frame))
        self.jobs.append(job)

    def _job(
        self, carving: CarvingContent, facts: Mapping[str, Any], folder: str, program: Decision | None
    ) -> Job:
        return Job(
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

    def _face(self, carving: CarvingContent) -> str:
        return ": " + _("rear face") if (carving.model_key, carving.slat_key) in self._rear else ""

    def _bare(self, facts: Mapping[str, Any]) -> Figure:
        """The slat's own drawing; the last one again where the slat is the same."""
        if self._slat is None or self._slat[0] != facts["slat"]:
            self._slat = facts["slat"], bare_figure(facts, self._frame)
        return self._slat[1]


def _program_words(check: Decision) -> str:
    return _(
        "Program {said} (record entry {number}). SHA-256 {program}",
        said=_(_CHECKED[check.facts["outcome"]]),
        number=check.number,
        program=check.facts["program"],
    )


def program_line(setup: Sequence[Job]) -> str:
    """What was checked of a set-up's programs; empty for nothing."""
    said = [job.program for job in setup if job.program]
    if len(setup) == 1 or not said:
        return "".join(said)
    return _(
        "Programs were checked for {checked} of {count}; the sheet of program checks names each.",
        checked=len(said),
        count=len(setup),
    )


def _where(carving: CarvingContent) -> str:
    """On which pieces; a piece with a text of its own says which."""
    if carving.piece is None:
        own = "" if carving.mark is None else ": " + _("own mark v{version}", version=carving.mark)
        pieces = (
            _("the piece of line {line}", line=carving.line)
            if carving.pieces == 1
            else _("all {count} pieces of line {line}", count=carving.pieces, line=carving.line)
        )
        return pieces + own
    text = " / ".join(carving.text.splitlines())
    shown = text if len(text) <= LONGEST_TEXT else f"{text[: LONGEST_TEXT - 1]}…"
    return _("piece {piece} of line {line}", piece=carving.piece, line=carving.line) + (
        f": {shown}" if shown else ""
    )


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
        (
            _("board"),
            _(
                "{thickness} mm {wood}, face up",
                thickness=decimal(slat.thickness, 2),
                wood=wood_words(slat.species),
            ),
        ),
        *([(_("finish"), _(FINISH_NAMES[slat.finish]))] if slat.finish in FINISH_NAMES else []),
        (
            _("bit"),
            f"{job.bit.key}: {job.bit.angle_deg:g}°, "
            + _("{diameter} mm across", diameter=decimal(job.bit.diameter, 2)),
        ),
        (
            _("programme depth"),
            _("{depth}; limit {limit}", depth=figures(at_least(depth)), limit=figures(at_least(limit))),
        ),
        (
            _("worst depth"),
            _(
                "{depth}, where the board stands {unevenness} mm high",
                depth=figures(at_most(deepest)),
                unevenness=decimal(job.allowances.unevenness, 2),
            ),
        ),
        (_("wood left under that"), figures(at_least(left))),
        (_("least line"), _tightest(setup, "least_line")),
        (_("least land"), _tightest(setup, "least_land")),
        (
            _("art"),
            f"{decimal(widest, 2)} × {decimal(highest, 2)} mm"
            + (" " + _("at most") if len(setup) > 1 else ""),
        ),
    ]


def job_facts(setup: Sequence[Job], where: str) -> list[tuple[str, str]]:
    """How it is cut, name and words; ``where`` says on what."""
    allowances = setup[0].allowances
    longest = max(float(each.figures["minutes"]) for each in setup)
    sanding = _("made up for by the bit's zero") if allowances.sanding_made_up else _("after carving")
    facts = [
        (_("cut on"), where),
        (
            _("carving time"),
            _("about {minutes} min each at most, an estimate", minutes=decimal(longest, 1))
            if len(setup) > 1
            else _("about {minutes} min each, an estimate", minutes=decimal(longest, 1)),
        ),
        (_("sanding"), f"{decimal(allowances.sanding, 2)} mm, {sanding}"),
        (_("board uneven up to"), f"± {figures(at_least(allowances.unevenness))}"),
        (_("passes"), _("{depth} mm deep at most", depth=decimal(allowances.pass_depth, 2))),
        (
            _("feed, plunge"),
            _(
                "{feed} and {plunge} mm/min",
                feed=format(allowances.feed, "g"),
                plunge=format(allowances.plunge, "g"),
            ),
        ),
    ]
    remarks = tuple(dict.fromkeys(words for each in setup for words in each.sentences))
    if remarks:
        more = " " + _("And {count} more.", count=len(remarks) - 2) if len(remarks) > 2 else ""
        facts.append((_("accepted remarks"), " ".join(map(told, remarks[:2])) + more))
    return facts


def _tightest(setup: Sequence[Job], figure: str) -> str:
    """The line or land with the least to spare of all, and what it needs."""
    known = [
        (each.figures[figure], each.figures[f"{figure}_required"])
        for each in setup
        if each.figures[figure] is not None
    ]
    if not known:
        return _("none")
    measured, required = min(known, key=lambda pair: pair[0] - pair[1])
    return _(
        "{measured}, needs {required}",
        measured=figures(at_least(measured)),
        required=figures(at_most(required)),
    )
