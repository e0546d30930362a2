"""A plate on its published page: drawn anew from its document, with what can be taken along."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from img2plate.base.archive import write_zip
from img2plate.base.credit import Credit
from img2plate.pipeline.options import PackOptions, quiet
from img2plate.pipeline.pack import plan_for
from img2plate.plate.document import write_plate
from img2plate.plate.plate import Plate
from img2plate.tally.counts import count
from img2plate.typeset.pack import write_pack_pages
from img2plate.typeset.publish import Site, write_pattern_page
from img2plate.typeset.publish.pattern import (
    Download,
    Pattern,
    boards_with_beads,
    colours_of,
    level_of,
)
from img2plate.typeset.publish.pictures import write_small

_DOWNLOADS = {
    "sheets.pdf": ("Sheets to print", "All boards at true scale. Print at 100 %."),
    "template.pdf": ("To recolour on paper", "Numbers in the cells, a page to choose beads on."),
    "follow.html": ("Build it on a phone", "Opens here; saved, it works without a network."),
    "plate.png": ("The plate", "One pixel per bead, to recolour or to print anew."),
    "counts.csv": ("Bead counts", "For a spreadsheet."),
}


@dataclass(frozen=True, eq=False)
class PlateSource:
    """One pattern before it is drawn."""

    plate: Plate
    options: PackOptions
    text: str
    slug: str

    @property
    def credit(self) -> Credit:
        """What the plate says of itself."""
        return self.plate.credit


def write_plate_page(source: PlateSource, folder: Path, site: Site, several: bool) -> Pattern:
    """Write one pattern's folder: the files of its pack, a zip of them, and the page."""
    plate, options = source.plate, source.options
    folder.mkdir()
    plan = plan_for(plate, options)
    counts = count(plate, plan.split, spare_percent=options.spare_percent, pace=options.pace)
    held = plan.strength
    thin = len(held.loose) + len(held.necks) + len(held.thin)
    write_plate(folder / "plate.png", plate)
    write_pack_pages(
        folder, plate, plan, counts, thickness_mm=options.thickness_mm,
        template=options.template, tell=quiet,
    )  # fmt: skip
    files = sorted(folder.iterdir())
    write_zip(folder / f"{source.slug}.zip", files)
    write_small(folder, plate, options.thickness_mm)
    pattern = Pattern(
        slug=source.slug,
        credit=plate.credit,
        text=source.text,
        size=plate.size,
        size_mm=plate.size_mm,
        beads=counts.beads,
        boards=boards_with_beads(plate, plan.split),
        board_words=str(options.board).replace("x", " x "),
        hours=counts.hours,
        colours=colours_of(plate, counts),
        spare_percent=options.spare_percent,
        palette=plate.palette.name,
        pitch_mm=plate.palette.pitch_mm,
        level=level_of(plate, plan.split, counts, thin),
        mirrored=plan.printing.mirrored,
        picture_size=png_size(folder / "picture.png"),
        downloads=downloads_in(folder, _DOWNLOADS, source.slug),
    )
    write_pattern_page(folder, site, pattern, several=several)
    return pattern


def downloads_in(
    folder: Path, known: dict[str, tuple[str, str]], name: str
) -> tuple[Download, ...]:
    """What can be taken from a page: those of the files that are there, and the zip of all."""
    known = {**known, f"{name}.zip": ("All in one zip", "Also the pictures.")}
    return tuple(
        Download(file, what, why, (folder / file).stat().st_size)
        for file, (what, why) in known.items()
        if (folder / file).is_file()  # a template only where the plate was made with one
    )


def png_size(path: Path) -> tuple[int, int]:
    """Width and height of a PNG: the first 8 bytes of its first chunk (ISO/IEC 15948, IHDR)."""
    with path.open("rb") as file:
        head = file.read(24)
    return int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big")
