"""What kind of picture: a confusion matrix, right sizes, and how often "sure" is wrong.

    python bench/bench_kinds.py [--seen | --unseen] [--every N] [--kind NAME...] [-v]

The set is that of `kinds_set.py`, which says what it needs; pictures seen while tuning and those
that were not are printed apart, and so are things that were cut out. --every N takes every N-th
picture; -v names each wrong one.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import dataclass

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program does

import numpy as np
from kinds_set import CUT_OUT, DRAWING, ENLARGED, KINDS, OWN, PHOTO, Case, kind_cases

from img2plate.image.kind.kind import Kind
from img2plate.image.kind.tell import KindWish, tell

NAMES = {Kind.OWN_SIZE: OWN, Kind.ENLARGED: ENLARGED, Kind.DRAWING: DRAWING, Kind.PHOTO: PHOTO}


@dataclass(frozen=True)
class Row:
    """One picture, told."""

    truth: str
    told: str
    right: bool
    """The kind, and of a sprite the size."""
    sure: bool
    seconds: float
    """Of the processor."""


def measure(case: Case) -> Row:
    """Tell one picture's kind and compare."""
    start = time.process_time()
    taken = tell(case.pixels, KindWish())
    seconds = time.process_time() - start
    told = NAMES[taken.told.kind]
    right = told == case.kind and (case.size is None or taken.native.cells == case.size)
    if not right and "-v" in sys.argv:
        print(f"  {case.name} {case.pixels.shape[1]}x{case.pixels.shape[0]}: {taken.told}")
    return Row(case.kind, told, right, taken.told.sure, seconds)


def print_table(title: str, rows: list[Row]) -> None:
    """Shares of each true kind told as each, of right ones, and of sure ones that are wrong."""
    columns = " ".join(f"{name:>9}" for name in KINDS)
    print(f"\n{title:14} {'n':>5} {columns} {'right':>7} {'sure':>6} {'wrong':>6} {'CPU s':>6}")
    for kind in (*KINDS, "all"):
        some = [row for row in rows if kind in (row.truth, "all")]
        if not some:
            continue
        told = " ".join(f"{np.mean([row.told == name for row in some]):9.3f}" for name in KINDS)
        right = np.mean([row.right for row in some])
        sure = np.mean([row.sure for row in some])
        wrong = np.mean([row.sure and not row.right for row in some])
        median = np.median([row.seconds for row in some])
        print(f"{kind:14} {len(some):5} {told} {right:7.3f} {sure:6.3f} {wrong:6.3f} {median:6.2f}")


def main() -> None:
    every = int(sys.argv[sys.argv.index("--every") + 1]) if "--every" in sys.argv else 1
    chosen = tuple(kind for kind in KINDS if "--kind" not in sys.argv or kind in sys.argv)
    warm = np.add.outer(np.arange(160) // 8 * 31, np.arange(160) // 8 * 7).astype(np.uint8)
    warm[3, 3] += 1  # else no search
    tell(np.dstack([warm] * 3 + [np.full_like(warm, 255)]), KindWish())
    rows: dict[tuple[bool, bool], list[Row]] = {}
    for number, case in enumerate(kind_cases(chosen)):
        left_out = "--seen" if case.unseen else "--unseen"
        if number % every == 0 and left_out not in sys.argv:
            group = case.source == CUT_OUT, case.unseen
            rows.setdefault(group, []).append(measure(case))
    for cut_out, unseen in sorted(rows):
        title = ("unseen" if unseen else "seen") + (", cut out" if cut_out else "")
        print_table(title, rows[cut_out, unseen])


if __name__ == "__main__":
    main()
