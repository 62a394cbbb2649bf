"""The batch archive: memory while it streams, and throughput against zipping the same files from disk."""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import rfc8785

from artwork.cut import Cut
from artwork.digest import facts
from artwork.drawings.dxf import dxf
from artwork.drawings.pdf import pdf
from artwork.drawings.svg import svg
from artwork.intake import read_artwork
from artwork.placing import largest_fit
from artwork.preview import preview_png
from seeds.shop import load
from service.batches.assemble import archive
from service.batches.content import BatchContent, CarvingContent
from service.orders.record import EntryKind
from service.store.blobs import FolderBlobs
from tests.bench.harness import Measured, case, process_peak_mb, seconds
from tests.service.batches.elsewhere import ZONES, exported, languages
from tests.service.batches.making import SHOP, SIGNER, Book, Shelf, carving_of, order_of

CARVINGS, PER_ORDER = 1000, 50


class _Stand:
    """A folder of blobs with the files of a thousand carvings of the crest, no two the same."""

    def __init__(self, folder: Path) -> None:
        self.blobs = FolderBlobs(folder)
        shop = load()
        outline = read_artwork(shop.artwork("crest.svg").data, "crest.svg").outline
        slat = shop.model("fernhollow-chair").slat("back-centre")
        fit = largest_fit(outline, slat, shop.allowances)
        self.cut = Cut(outline, slat, fit, shop.bits[0], shop.allowances)
        drawn = {"svg": svg(self.cut), "dxf": dxf(self.cut), "pdf": pdf(self.cut)}
        drawn["png"] = preview_png(self.cut, None, 2.0)
        art = self.blobs.put(shop.artwork("crest.svg").data)
        self.orders = tuple(order_of(n) for n in range(1, CARVINGS // PER_ORDER + 1))
        self.book, self.kept, self.drawings = Book(), [], []
        for number in range(CARVINGS):
            order = self.orders[number // PER_ORDER]
            # a carving of its own each: a hundredth of a millimetre higher than the last
            moved = replace(fit, y=fit.y + number / 100)
            placed = replace(self.cut, placement=moved)
            files = {form: self.blobs.put(data + b"\n%d" % number) for form, data in drawn.items()}
            template = carving_of(Shelf(), order, number)
            carving = replace(
                template,
                digest=self.blobs.put(rfc8785.dumps(facts(placed))),
                picture=files.pop("png"),
                drawings={},
                artwork=replace(template.artwork, sha256=art),
            )
            self.kept.append(carving)
            self.drawings.append(files)
            self.book.approve(carving)
        for order in self.orders:
            self.book.enter(EntryKind.RELEASE, order.id)

    def content(self) -> BatchContent:
        return BatchContent("b1", SHOP, self.orders, self.carvings(), self.book.entries, self.blobs.get)

    def carvings(self, count: int = CARVINGS) -> Iterator[CarvingContent]:
        """Each with its drawings, which are read when its turn comes, as an export draws them then."""
        for carving, files in zip(self.kept[:count], self.drawings, strict=False):
            drawn = {form: self.blobs.get(digest) for form, digest in files.items()}
            yield replace(carving, drawings=drawn)

    def write(self, path: Path) -> None:
        with path.open("wb") as file:
            file.writelines(archive(self.content(), SIGNER))


def _stand(folder: str) -> _Stand:
    return _Stand(Path(folder) / "blobs")


@case(issue=7, name="batch archive: peak memory growth", n="1,000 carvings, 20 orders", target=30)
def memory() -> Measured:
    with tempfile.TemporaryDirectory() as folder:
        stand = _stand(folder)
        first = replace(stand.content(), carvings=stand.carvings(1))
        for _ in archive(replace(first, orders=stand.orders[:1]), SIGNER):
            pass  # imports and fonts are loaded once, whatever the size of the batch
        before = process_peak_mb()
        for _ in archive(stand.content(), SIGNER):
            pass
        grown = process_peak_mb() - before
    return Measured(
        grown, figure=grown, unit="MB", note="growth of the process's peak over one carving's archive"
    )


@case(
    issue=7,
    name="batch archive: throughput against zipfile of the same files from disk",
    n="1,000 carvings",
    target=0.5,
    sense="at least",
)
def throughput() -> Measured:
    with tempfile.TemporaryDirectory() as folder:
        stand, root = _stand(folder), Path(folder)
        stand.write(root / "ours.zip")
        with zipfile.ZipFile(root / "ours.zip") as opened:
            opened.extractall(root / "files")
        paths = sorted(path for path in (root / "files").rglob("*") if path.is_file())

        def rival() -> None:
            with zipfile.ZipFile(root / "theirs.zip", "w") as made:
                for path in paths:
                    made.write(path, path.relative_to(root / "files"))

        rival()
        pairs = [(seconds(lambda: stand.write(root / "ours.zip")), seconds(rival)) for _ in range(3)]
        ours, theirs = (sorted(side)[1] for side in zip(*pairs, strict=True))
        size = (root / "ours.zip").stat().st_size / 1e6
        shutil.rmtree(root / "files")
    note = (
        f"{size:.0f} MB, both stored without compression; ours draws job sheets and checks every digest too"
    )
    return Measured(ours, theirs, figure=theirs / ours, note=note)


@case(
    issue=20,
    name="batch archive, every digest computed again: throughput against zipfile of the same files from disk",
    n="1,000 carvings",
    target=0.7,
    sense="at least",
)
def throughput_on_the_bench() -> Measured:
    return throughput()


@case(issue=20, name="batch archive: peak memory growth", n="1,000 carvings, 20 orders", target=10)
def memory_on_the_bench() -> Measured:
    return memory()


@case(
    issue=7, name="exports of one order that differ between time zones and languages", n="4 places", target=0
)
def exports_elsewhere() -> Measured:
    """Drawings, preview, bed layouts, contact sheet and archive, byte for byte."""
    with tempfile.TemporaryDirectory() as folder:
        spoken = (*(languages(Path(folder)) or ("C.UTF-8", "C", "POSIX")), "C.UTF-8")
        made = [exported(zone, language, Path(folder)) for zone, language in zip(ZONES, spoken, strict=False)]
    differing = sum(len(set(same)) > 1 for same in zip(*(each.digests for each in made), strict=True))
    said = ", ".join(f"{each.language} in {each.zone}" for each in made)
    return Measured(differing, figure=differing, unit=f"of {len(made[0].digests)} files", note=said)
