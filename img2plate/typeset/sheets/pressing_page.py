"""How to place, tape, press and cool, with the cautions that go with a hot iron and small beads.

The cautions draw on published ones: children's hospitals and health services on irons, data sheets
of polyethylene resin on fumes and burns, 16 CFR 1501 and EN 71-1 on small parts. The ways of
pressing are common practice, no source.
"""

from __future__ import annotations

from img2plate.typeset.look import ACCENT, HEADING, INK
from img2plate.typeset.sheets.printing import MARGIN, Printing
from img2plate.typeset.sheets.remarks import draw_remarks
from img2plate.typeset.sheets.sheet import Sheet

_TAPE = (
    "Cover all beads with masking tape, strips overlapping, and rub it down. Prick the tape over"
    " the holes if air stays under it.",
    "Lift the plate off the board with the tape on, and turn it over: tape below, on a flat,"
    " heat-proof table. The side that lay on the pegs is now up and is pressed first: {board}.",
    "Baking paper on top. Press with the iron, moving slowly in circles, until the holes are as"
    " small as you want them. Let it cool, turn over, pull the tape off, press the other side the"
    " same way: {up}.",
)
_ON_BOARD = (
    "Only with a board made for it: it must not warp. The side that faces up is"
    " pressed first: {up}. Baking paper on the beads, iron as above, cool, lift off, turn over,"
    " press the side that lay on the pegs: {board}.",
)
_PLACE = (
    "Lay the board's page under a clear board, or beside it, with the arrow pointing away from you:"
    " the angles show the board's corners, the triangles the middles of its edges.",
    "Check the ruler, then place bead by bead. Neighbouring boards: lay them edge to edge; marks of"
    " one number must meet, and name the same row or column.",
)
_COOL = (
    "While it is warm, lay it under something flat and heavy (books, a second board) until it is"
    " cold: it stays flat. Measure the thickness; pressed as usual it is near 4 mm, pressed longer"
    " near 3 mm.",
)


def steps(*, mirrored: bool) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Title and paragraphs of each step; the front is the side that will be seen."""
    sides = {"up": "the back", "board": "the front"}
    if not mirrored:
        sides = {"up": "the front", "board": "the back"}
    front = "down, so everything is mirrored" if mirrored else "up"
    return (
        ("Place", (f"The front, the side that will be seen, faces {front}.", *_PLACE)),
        ("Press with tape", tuple(words.format(**sides) for words in _TAPE)),
        ("Or press on the board", tuple(words.format(**sides) for words in _ON_BOARD)),
        ("Cool", _COOL),
    )


CAUTIONS = (
    "An iron burns, and stays hot when it is switched off. Keep it and its cord out of children's"
    " reach; pressing is for adults. Never leave it face down; unplug it after use.",
    "Molten plastic sticks to skin: cool the place with water at once, do not pull the plastic off,"
    " get medical help.",
    "Use the lowest setting that fuses the beads, in an aired room. Stop if there is smoke or a"
    " sharp smell.",
    "Beads and small fused pieces can be swallowed: not for children under 3.",
    "Follow local rules and the instructions of your beads, boards and iron: they come first.",
)


def draw_pressing_page(sheet: Sheet, printing: Printing, remarks: tuple[str, ...] = ()) -> None:
    """One page, in large type; says which side is pressed first.

    remarks: whether the plate will hold together, where that stands on no other page.
    """
    paper = printing.paper
    sheet.start(paper.width_mm, paper.height_mm)
    sheet.bookmark("From beads to a plate")
    left, width = MARGIN + 8, paper.width_mm - 2 * MARGIN - 16
    sheet.text(left, MARGIN + 12, "From beads to a plate", 20, bold=True, colour=HEADING)
    words = "With tape the front is pressed first, on the board the back."
    if not printing.mirrored:
        words = "With tape the back is pressed first, on the board the front."
    sheet.text(left, MARGIN + 19, words, 10, bold=True, colour=ACCENT)
    y = MARGIN + 30
    for title, paragraphs in steps(mirrored=printing.mirrored):
        sheet.text(left, y, title, 14, bold=True, colour=HEADING)
        y = _paragraphs(sheet, paragraphs, left, y + 6, width, INK) + 3
    y += 2
    sheet.line(left, y - 4, left + width, y - 4, 0.4, ACCENT)
    sheet.text(left, y + 3, "Take care", 14, bold=True, colour=ACCENT)
    y = _paragraphs(sheet, CAUTIONS, left, y + 9.5, width, INK)
    draw_remarks(sheet, remarks, y + 6, (left, left + width, paper.height_mm - MARGIN - 4))
    sheet.end()


def _paragraphs(
    sheet: Sheet, paragraphs: tuple[str, ...], left: float, y: float, width: float, colour: str
) -> float:
    """Set paragraphs with a dash each; returns the y below them."""
    for paragraph in paragraphs:
        sheet.text(left, y, "–", 10, colour=colour)
        for line in sheet.wrap(paragraph, 10, width - 5):
            sheet.text(left + 5, y, line, 10, colour=colour)
            y += 4.9
        y += 1.2
    return y
