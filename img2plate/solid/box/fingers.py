"""Which of two plates has each bead of the edge that they share.

A pattern is a word with one letter a bead: P for the first plate, Q for the second, F where the
corner went to a third plate. PPQQPP is a joint of three fingers. What an end may be:

    P, Q    the corner bead is that plate's
    F       it is a third plate's
    N       there is no third plate: the end is an ordinary bead of the edge

Where an edge has gaps, or beads that only one plate can hold (a doorway that reaches the floor), a
mask says so, with a letter a bead too: * for either plate, P or Q for one of them, - for no bead.
Fingers are then laid out on each stretch of *; a last bead that is p or q belongs to its stretch.

A joint should hold its two plates both ways along the edge by itself, so have PQ and QP in it: from
5 beads on it always can. Of 3 or 4 beads one step between P and Q has to do; the rest of the box
blocks the other way. `solid/box/corners.py` says when even that is impossible.
"""

from __future__ import annotations

from functools import cache
from itertools import groupby, islice, product

SHORT = 5
"""Up to so many beads all patterns are tried; above, one rule gives the best."""
LONGEST_CHOSEN = 5
_MOST_TRIED = 600
"""Ways to put the stretches of an edge together that are looked at."""
_OTHER = {"P": "Q", "Q": "P"}


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


@cache
def patterns_on(
    mask: str, start: str, end: str, finger: int, *, lid: bool = False
) -> tuple[str, ...]:
    """As `patterns`, on an edge with gaps and beads that can only be one plate's."""
    filled = mask.rstrip("-")
    if filled and filled[-1] in "pq":
        # It belongs to its stretch; of more beads that only this plate can hold the first does.
        letter = filled[-1].upper()
        free = filled[:-1].rstrip(letter)
        after = letter * (len(filled) - len(free) - 1) + mask[len(filled) :]
        fitting = patterns_on(free + "*", start, letter, finger, lid=lid)
        return tuple(word + after for word in fitting)
    if set(mask) <= {"*"}:
        return patterns(len(mask), start, end, finger, lid=lid)
    runs = [(kind, len(list(run))) for kind, run in groupby(mask)]
    longest = max((n for kind, n in runs if kind == "*"), default=0)
    choices: list[tuple[str, ...]] = []
    for i, (kind, n) in enumerate(runs):
        if kind != "*":
            choices.append((kind * n,))
            continue
        first = (start,) if i == 0 and start != "N" else _starts(runs[i - 1][0] if i else "-")
        after = runs[i + 1][0] if i + 1 < len(runs) else "-"
        last = (end,) if i + 1 == len(runs) and end != "N" else _starts(after)
        found = _stretch(n, first, last, finger, tab=lid and n == longest, lid=lid)
        # Corners hang on the ends; in between one of the best will do.
        is_end = i == 0 or i + 1 == len(runs)
        choices.append(found if is_end else found[:2])
    words = ["".join(parts) for parts in islice(product(*choices), _MOST_TRIED)]
    if "*" not in mask[1:-1]:  # the plates only pass each other here
        return tuple(words)
    good = [word for word in words if _is_joint(word)]
    return tuple(sorted(good, key=lambda word: -("PQ" in word) - ("QP" in word)))


def _starts(beside: str) -> tuple[str, str]:
    """Letters that a stretch may begin or end with beside that kind of place, the better first."""
    return (_OTHER[beside], beside) if beside in _OTHER else ("P", "Q")


def _stretch(
    length: int, first: tuple[str, ...], last: tuple[str, ...], finger: int, *, tab: bool, lid: bool
) -> tuple[str, ...]:
    """Words for a stretch of an edge that either plate may have, the best first."""
    if lid and not (tab and length >= SHORT - 1):
        return ("F" * (first == ("F",)) + "P" * (length - (first == ("F",)) - (last == ("F",)))
                + "F" * (last == ("F",)),)  # fmt: skip
    if lid:
        ends = [tuple(set(end) - {"Q"}) or end for end in (first, last)]
        return patterns(length, ends[0][0], ends[1][0], finger, lid=True)
    if length >= SHORT:
        found = (patterns(length, a, b, finger) for a, b in product(first, last))
        return tuple(dict.fromkeys(word for words in found for word in words))
    if length == 1:  # a corner by itself is whose it is
        return min(first, last, key=len)
    words = ["".join(letters) for letters in product("PQF", repeat=length)]
    good = [w for w in words if w[0] in first and w[-1] in last and "F" not in w[1:-1]]
    return tuple(sorted(good, key=lambda w: (first.index(w[0]), last.index(w[-1]), _badness(w))))


def _is_joint(word: str) -> bool:
    """Whether the plates hold each other as far as an edge of this length can."""
    steps = ("PQ" in word) + ("QP" in word)
    return steps >= (2 if len(word) - word.count("-") >= SHORT else 1)


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
