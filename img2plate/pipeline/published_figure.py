"""A figure on its published page: built anew from the description that its pack holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from img2plate.base.archive import write_zip
from img2plate.base.credit import Credit
from img2plate.pipeline.described import read_description
from img2plate.pipeline.figure import on_one_size, plan_for, write_figure_pack
from img2plate.pipeline.figure_plates import FOLDER, find_plates, with_plates
from img2plate.pipeline.options import PackOptions, quiet
from img2plate.pipeline.published_plate import downloads_in, png_size
from img2plate.solid.box.build import Figure, build
from img2plate.solid.file.figure_file import read_figure
from img2plate.typeset.figure.counts import count_figure
from img2plate.typeset.look import GROUND
from img2plate.typeset.publish import Site, write_pattern_page
from img2plate.typeset.publish.figure_pattern import figure_level, figure_pattern
from img2plate.typeset.publish.pattern import Drawn, Pattern, colours_of
from img2plate.typeset.publish.pictures import SMALL, write_in_middle
from img2plate.typeset.sheets.printing import is_mirrored

_DOWNLOADS = {
    "sheets.pdf": ("Sheets to print", "All plates at true scale, and the steps. Print at 100 %."),
    "follow.html": ("Build it on a phone", "Opens here; saved, it works without a network."),
    "figure.glb": ("The figure in three dimensions", "For a program that shows glTF models."),
    "counts.xlsx": ("Bead counts", "Of each plate, as a workbook."),
}
_DRAWINGS = {
    "exploded": "All plates pulled apart, each with its number",
    "parts": "The plates of each part",
    "steps": "How the plates go together, step by step",
}


@dataclass(frozen=True, eq=False)
class FigureSource:
    """A figure before it is drawn."""

    figure: Figure
    options: PackOptions
    credit: Credit
    text: str
    slug: str


def read_figure_pack(pack: Path) -> tuple[Figure, PackOptions, list[str]]:
    """The figure of a pack with the plates that lie in it, and which were touched up since.

    Raises DocumentError, and FigureError when a plate breaks a joint.
    """
    described = read_description(pack)
    asked = described.options
    spec = read_figure(described.path, palette=asked.palette, colourway=asked.colourway)
    spec = replace(spec, credit=asked.pack.credit.over(spec.credit).cleaned())
    options = on_one_size(replace(asked.pack, bags=None, zip=False))
    plain = build(spec)
    found = find_plates(pack / FOLDER, plain.pieces)
    figure, touched = with_plates(plain, found)
    notes = [f"{found.plates[number]} was touched up, and is shown so" for number in touched]
    notes += [f"{path} is no plate of the figure" for path in found.pictures]
    return figure, options, notes


def write_figure_page(source: FigureSource, folder: Path, site: Site, several: bool) -> Pattern:
    """Write one figure's folder: the files of its pack, a zip of them, and the page."""
    figure, options = source.figure, source.options
    spec, plates = figure.spec, [piece.plate for piece in figure.pieces]
    folder.mkdir()
    counts = count_figure(figure, spare_percent=options.spare_percent, pace=options.pace)
    drawings = write_figure_pack(folder, figure, counts, options, plan_for(figure, options), quiet)
    files = [path for path in folder.rglob("*") if path.is_file()]
    write_zip(folder / f"{source.slug}.zip", files, folder)
    for name, size in SMALL.items():
        write_in_middle(folder / name, drawings.assembled.copy(), size, GROUND)
    joints = len(figure.joints)
    pattern = Pattern(
        slug=source.slug,
        credit=source.credit,
        text=source.text,
        size=plates[0].size,
        size_mm=plates[0].size_mm,
        beads=counts.beads,
        boards=len(plates),
        board_words=str(options.board).replace("x", " x "),
        hours=counts.hours,
        colours=colours_of(replace(plates[0], palette=spec.palette), counts),
        spare_percent=options.spare_percent,
        palette=spec.palette.name,
        pitch_mm=spec.palette.pitch_mm,
        level=figure_level(figure, counts, joints),
        mirrored=is_mirrored(options.front),
        picture_size=png_size(folder / "assembled.png"),
        downloads=downloads_in(folder, _DOWNLOADS, source.slug),
        drawings=tuple(_drawings(folder)),
        plates=tuple((p.title, *p.plate.size, p.plate.bead_count) for p in figure.pieces),
    )
    pattern = figure_pattern(pattern, figure, joints)
    write_pattern_page(folder, site, pattern, several=several)
    return pattern


def _drawings(folder: Path) -> list[Drawn]:
    """The drawings that there are, in the order in which one looks at them."""
    return [
        Drawn(path.name, alt, png_size(path))
        for name, alt in _DRAWINGS.items()
        for path in sorted(folder.glob(f"{name}*.png"))
    ]
