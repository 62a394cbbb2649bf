"""The cut list of an order as CSV: one row per carving, for whoever plans in a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence

from artwork.csv_text import csv_bytes
from service.batches.content import OrderContent
from service.batches.jobs import Job

HEADER = (
    "order", "no", "folder", "model", "slat", "on", "times",
    "board_thickness_mm", "species", "bit", "art_width_mm", "art_height_mm",
    "programme_depth_mm", "depth_limit_mm", "worst_depth_mm", "wood_left_mm", "least_line_mm", "least_line_needed_mm",
    "minutes_each", "minutes_all", "proof",
)  # fmt: skip


def cut_list(order: OrderContent, jobs: Sequence[Job]) -> bytes:
    """The table; text that a spreadsheet would take for a formula is made neutral."""
    return csv_bytes(HEADER, (_row(order, job) for job in jobs))


def _row(order: OrderContent, job: Job) -> tuple[object, ...]:
    figures, slat = job.figures, job.figure.slat
    minutes = float(figures["minutes"])
    return (
        order.number, job.number, job.folder, job.model_name, job.slat_name, job.where, job.pieces,
        slat.thickness, slat.species, job.bit.key, figures["width"], figures["height"],
        figures["depth"], figures["depth_limit"], figures["deepest_cut"], figures["wood_left"],
        _known(figures["least_line"]), figures["least_line_required"],
        minutes, round(minutes * job.pieces, 1), job.digest,
    )  # fmt: skip


def _known(figure: float | None) -> float | str:
    return "" if figure is None else figure
