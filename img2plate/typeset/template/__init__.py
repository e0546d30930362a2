"""`template.pdf`: the sheets with numbers of roles instead of beads, and a page to choose beads on.

The pages are those of `sheets.pdf`, of a plate whose beads are roles in tints of paper.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from img2plate.colour.palette import Bead, Palette
from img2plate.plate.plate import Plate
from img2plate.plate.roles import Group, find_groups
from img2plate.split.rounds import Round
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts, count
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.template.chooser import Chooser, tint


def write_template(
    path: Path,
    plate: Plate,
    split: Split,
    counts: Counts,
    printing: Printing,
    *,
    rounds: tuple[Round, ...] = (),
    thickness_mm: float = 4.0,
    remarks: tuple[str, ...] = (),
) -> None:
    """Write the PDF, cut and printed as the plate's own sheets are; `counts` says what is spare.

    Raises OptionError as `write_sheets` does.
    """
    groups = find_groups(plate)
    roles = plate_of_roles(plate, groups)
    write_sheets(
        path,
        roles,
        split,
        count(roles, split, spare_percent=counts.spare_percent, pace=counts.pace),
        printing,
        rounds=rounds,
        thickness_mm=thickness_mm,
        remarks=remarks,
        symbols={number: str(number + 1) for number in range(len(roles.palette))},
        before=Chooser(plate, groups, printing.paper, thickness_mm).draw,
    )


def plate_of_roles(plate: Plate, groups: tuple[Group, ...]) -> Plate:
    """The same plate with role `n` in place n - 1 of its palette."""
    roles = [role for group in groups for role in group.roles]
    beads = tuple(Bead(str(role.number), role.name, _srgb(tint(role))) for role in roles)
    table = np.full(len(plate.palette) + 1, -1, np.int16)  # the last place is reached by -1
    table[[role.index for role in roles]] = np.arange(len(roles))
    own = plate.palette
    palette = Palette(own.name, beads, own.pitch_mm, own.bead_size)
    return replace(plate, cells=table[plate.cells], palette=palette, name=f"{plate.name}, template")


def _srgb(colour: str) -> tuple[int, int, int]:
    red, green, blue = bytes.fromhex(colour.removeprefix("#"))
    return red, green, blue
