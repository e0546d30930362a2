"""Cautions for things made of several plates, and for what people put into them.

They draw on published ones: 16 CFR 1501 and EN 71-1 on small parts, 16 CFR 1262 and a poison centre
on magnets, children's hospitals and health services on irons, data sheets of polyethylene. Lines
without such a source say "common sense".
"""

from __future__ import annotations

from img2plate.base.lengths import Paper
from img2plate.solid.box.build import Figure
from img2plate.typeset.look import ACCENT, INK
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

ALWAYS = (
    "Loose beads, strips, fingers that break off and most single plates can be swallowed: a part"
    " that fits a cylinder 31.7 mm wide is a small part. Not for children under 3.",
    "Plates are pressed hot. Let each cool under a weight before fitting; fit cold plates only."
    " Pressing is for adults; keep the iron and its cord out of children's reach.",
    "Do not force a joint that is too tight: press less next time, or ease it with a file. A knife"
    " slips (common sense).",
)
SPECIAL = {
    "lights": (
        "Lights: only small lamps that stay cold (LED). No candle, no hot bulb:"
        " polyethylene softens near 50 C and melts near 110 C (published for low density). Button"
        " cells can be swallowed: keep them away from children (common sense).",
    ),
    "magnets": (
        "Magnets: swallowed magnets can attract each other inside the body and cause holes,"
        " blockage, blood poisoning or death: get medical help at once. A glued magnet can come"
        " loose, so a piece with one is no toy for small children.",
    ),
    "coins": (
        "Coins are small parts and can be swallowed: nearly every coin fits the small-parts"
        " cylinder. Keep a money box out of reach of children under 3.",
    ),
}
RULES = (
    "Follow local rules and product instructions of beads, iron, lamps, boards: they come first."
)


def draw_cautions(sheet: Sheet, paper: Paper, figure: Figure) -> None:
    """One page, in large type."""
    sheet.start(paper.width_mm, paper.height_mm)
    left, width = MARGIN + 8, paper.width_mm - 2 * MARGIN - 16
    sheet.text(left, MARGIN + 12, "Take care", 20, bold=True, colour=ACCENT)
    sheet.line(left, MARGIN + 16, left + width, MARGIN + 16, 0.4, ACCENT)
    special = (line for key in figure.spec.notes for line in SPECIAL[key])
    y = MARGIN + 26
    for paragraph in (*ALWAYS, *special, RULES):
        for line in sheet.wrap(paragraph, 14, width):
            sheet.text(left, y, line, 14, colour=INK)
            y += 6.6
        y += 4
    sheet.end()
