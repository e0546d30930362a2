"""Which of two plates has each bead of the edge that they share.

A pattern is a word with one letter a bead: P for the first plate, Q for the second, F where the
corner went to a third plate. PPQQPP is a joint of three fingers. What an end may be:

    P, Q    the corner bead is that plate's
    F       it is a third plate's
    N       there is no third plate: the end is an ordinary bead of the edge

A joint should hold its two plates both ways along the edge by itself, so have PQ and QP in it: from
5 beads on it always can. Of 3 or 4 beads one step between P and Q has to do; the rest of the box
blocks the other way. `solid/box/corners.py` says when even that is impossible.
"""

from __future__ import annotations

from functools import cache
from itertools import groupby, product

SHORT = 5
"""Up to so many beads all patterns are tried; above, one rule gives the best."""
LONGEST_CHOSEN = 5


def choose_finger(length: int) -> int:
    """Finger length for an edge, when none is given: about a seventh of it, 2 to 5 beads."""
    return max(2, min(LONGEST_CHOSEN, 1 + round(length / 7)))


@cache
def patterns(
    length: int, start: str, end: str, finger: int, *, lid: bool = False
) -> tuple[str, ...]:
    """All patterns worth trying for an edge, best first.

    With `lid`, Q is a lid that gets one tab in the middle.
    """
    if length > SHORT:
        return (_long_pattern(length, start, end, 0 if lid else finger),)
    inner = length - 2 + (start == "N") + (end == "N")
    head, tail = start.replace("N", ""), end.replace("N", "")
    words = [head + "".join(letters) + tail for letters in product("PQ", repeat=inner)]
    if lid and length >= 4:
        words = [word for word in words if word.strip("F")[0] + word.strip("F")[-1] == "PP"]
    good = [word for word in words if _is_joint(word)]
    return tuple(sorted(good, key=_badness))


def _is_joint(word: str) -> bool:
    """Whether the plates hold each other as far as an edge of this length can."""
    steps = ("PQ" in word) + ("QP" in word)
    return steps >= (2 if len(word) >= SHORT else 1)


def _badness(word: str) -> tuple[int, int, int]:
    """Fewer steps, single beads and lopsided words are worse."""
    runs = _runs(word)
    steps = ("PQ" in word) + ("QP" in word)
    return -steps, sum(run == 1 for run in runs), word != word[::-1]


def _runs(word: str) -> list[int]:
    """Lengths of the fingers."""
    return [len(list(group)) for letter, group in groupby(word) if letter != "F"]


def _long_pattern(length: int, start: str, end: str, finger: int) -> str:
    """Fingers of about one length, the same read from either end where the ends allow it.

    `finger` 0 stands for a single tab of Q in the middle.
    """
    beads = length - (start == "F") - (end == "F")
    first = start if start in "PQ" else "P"
    last = end if end in "PQ" else first
    if finger == 0:
        runs = _tab_runs(beads)
    else:
        runs = _spread(beads, _run_count(beads, finger, odd=first == last))
    letters = [("PQ" if first == "P" else "QP")[i % 2] for i in range(len(runs))]
    body = "".join(letter * run for letter, run in zip(letters, runs, strict=True))
    return "F" * (start == "F") + body + "F" * (end == "F")


def _run_count(beads: int, finger: int, *, odd: bool) -> int:
    """Number of fingers: at least three steps' worth, two beads each where there is room."""
    least = 3 if odd else 4
    most = max(least, beads // 2)
    count = min(max(round(beads / finger), least), most)
    if count % 2 != odd:
        count += 1 if count + 1 <= most and count < beads / finger else -1
    return max(count, least)


def _spread(beads: int, count: int) -> list[int]:
    """Share beads among fingers evenly and, if it can be, symmetrically."""
    base, extra = divmod(beads, count)
    runs = [base] * count
    if extra % 2:
        runs[count // 2] += 1
    pairs = [i for i in range(count // 2) if runs[i] == base and runs[-1 - i] == base]
    for i in pairs[: extra // 2]:
        runs[i] += 1
        runs[-1 - i] += 1
    return runs


def _tab_runs(beads: int) -> list[int]:
    """Wall, tab of about a third, wall."""
    tab = max(2, round(beads / 3))
    tab += (beads - tab) % 2
    return [(beads - tab) // 2, tab, (beads - tab) // 2]
