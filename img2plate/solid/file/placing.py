"""Where a part stands: by numbers, or by another part."""

from __future__ import annotations

from collections.abc import Sequence

from img2plate.solid.faces import FACES, FAR, NORMAL, OPPOSITE, Size, face_places, face_size
from img2plate.solid.file.toml_table import Table
from img2plate.solid.spec import MOST, PartSpec

_SIDES = ("front", "back", "left", "right")


def place_of(table: Table, size: Size, before: Sequence[PartSpec]) -> tuple[int, int, int]:
    """The front lower left bead of a part.

    `at`; or in the middle `on` or `under` another part; or `beside` one of its sides, in the middle
    of it and on the same floor. `shift` moves it along the face: two numbers. Raises FigureError.
    """
    shift = table.wholes("shift", 2, -MOST, MOST) or (0, 0)
    at = table.wholes("at", 3, -10 * MOST, 10 * MOST)
    by = {key: table.text(key, "") for key in ("on", "under", "beside")}
    given = [key for key, name in by.items() if name]
    if len(given) + (at is not None) > 1:
        said = " and ".join(f"`{key}`" for key in (*given, *(("at",) if at else ())))
        raise table.error(given[0], f"give only one of {said}")
    if not given:
        if shift != (0, 0):
            raise table.error("shift", "moves a part that stands `on`, `under` or `beside` another")
        return (at[0], at[1], at[2]) if at else (0, 0, 0)
    key = given[0]
    name, face = by[key], {"on": "top", "under": "bottom"}.get(key, "")
    if key == "beside":
        name, _, face = name.rpartition(".")
        if face not in _SIDES:
            raise table.error(key, f'{by[key]!r} is not a part and its side, as "hull.right"')
    other = next((part for part in before if part.name == name), None)
    if other is None:
        raise table.error(key, f"no part {name!r} stands above this one")
    return _against(other, face, size, (shift[0], shift[1]))


def plug_of(
    table: Table, size: Size, before: Sequence[PartSpec]
) -> tuple[tuple[str, str], tuple[int, int, int]] | None:
    """The face that a part is plugged into and its front lower left bead; None where it is not.

    `plug` names the face, `at` the column and row of it, from 1, of the part's upper left bead as
    seen from outside; without, it is in the middle, moved by `shift`. Raises FigureError.
    """
    if not table.has("plug"):
        table.text("plug", "")
        return None
    plug = table.text("plug")
    name, _, face = plug.rpartition(".")
    other = next((part for part in before if part.name == name), None)
    if other is None or face not in FACES:
        said = ", ".join(part.name for part in before) or "none"
        raise table.error("plug", f'{plug!r} is not a face of a part above, as "body.front"'
                          f" (there are: {said})")  # fmt: skip
    if face in other.open or (other.plug and face == OPPOSITE[other.plug[1]]):
        raise table.error("plug", f"{name} is open on its {face}")
    for key in ("on", "under", "beside"):
        if table.has(key):
            raise table.error(key, "says where a part stands that is not plugged in; use `at`")
    shift = table.wholes("shift", 2, -MOST, MOST) or (0, 0)
    at = table.wholes("at", 2, 1, MOST)
    wide, high = face_size(face, other.size)
    across, down = face_size(face, size)
    column, row = (at[0] - 1, at[1] - 1) if at else ((wide - across) // 2, (high - down) // 2)
    column, row = column + shift[0], row + shift[1]
    if min(column, row) < 0 or column + across > wide or row + down > high:
        start = f"column {column + 1}, row {row + 1}"
        reason = f"{across} x {down} beads at {start} reach over {plug}, which is {wide} x {high}"
        raise table.error("at" if at else "plug", reason)
    held = [a[row : row + down, column : column + across] for a in face_places(face, other.size)]
    place = [other.at[a] + int(held[a].min()) for a in range(3)]
    axis = NORMAL[face]
    place[axis] = other.at[axis] + (other.size[axis] if face in FAR else -size[axis])
    return (name, face), (place[0], place[1], place[2])


def inside_of(
    table: Table, size: Size, before: Sequence[PartSpec]
) -> tuple[str, tuple[int, int, int]] | None:
    """The part that a tray lies in and its front lower left bead; None where it lies in none.

    In the middle of `inside`, moved by `shift`, on layer `level` of it (1: on its bottom); or `at`.
    Raises FigureError when it does not fit.
    """
    name = table.text("inside", "")
    if not name:
        return None
    other = next((part for part in before if part.name == name), None)
    if other is None:
        raise table.error("inside", f"no part {name!r} stands above this one")
    if not other.lid and len(other.open) == 0:
        raise table.error("inside", f"{name} is closed; give it a `lid`, or leave a face `open`")
    for key in ("on", "under", "beside", "plug", "at"):
        if table.has(key):
            reason = "says where a part stands that is not inside another; use `shift` and `level`"
            raise table.error(key, reason)
    shift = table.wholes("shift", 2, -MOST, MOST) or (0, 0)
    level = table.whole("level", 1, 1, MOST)
    room, first = [side - 2 for side in other.size], [1, 1, 1]
    if other.lid == "slide":
        room[NORMAL[other.lid_on]] -= 2  # its rails
        first[NORMAL[other.lid_on]] += 0 if other.lid_on in FAR else 2
    place = [
        first[0] + (room[0] - size[0]) // 2 + shift[0],
        first[1] + (room[1] - size[1]) // 2 + shift[1],
        first[2] - 1 + level,
    ]
    if any(not first[a] <= place[a] <= room[a] - size[a] + first[a] for a in range(3)):
        wanted, there = (" x ".join(str(n) for n in beads) for beads in (size, room))
        raise table.error("inside", f"{wanted} beads do not fit there; inside {name} are {there}")
    return name, (other.at[0] + place[0], other.at[1] + place[1], other.at[2] + place[2])


def _against(
    other: PartSpec, face: str, size: Size, shift: tuple[int, int]
) -> tuple[int, int, int]:
    """A part against a face of another: in its middle, sides on one floor, then shifted."""
    axis = NORMAL[face]
    place = [other.at[a] + (other.size[a] - size[a]) // 2 for a in range(3)]
    if axis != 2:
        place[2] = other.at[2]
    place[axis] = other.at[axis] + (other.size[axis] if face in FAR else -size[axis])
    for a, step in zip((a for a in range(3) if a != axis), shift, strict=True):
        place[a] += step
    return place[0], place[1], place[2]
