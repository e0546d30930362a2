"""Random figures with all options together: how many are built, and why others are refused.

    python bench/bench_figures.py [--figures 10000] [--seconds 600]

Each figure that is built is judged again without the project's checker; a wrong one ends the run.
Prints how many were really tried, and the reasons of refusals by their number, with an example.
"""

from __future__ import annotations

import argparse
import re
import sys
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from hypothesis import HealthCheck, Phase, given, seed, settings
from random_figures import assert_sound, figures, said_plainly

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import build
from img2plate.solid.spec import FigureSpec


def main() -> None:
    """Try figures until there are enough, or time is up."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--figures", type=int, default=10_000)
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    reasons: Counter[str] = Counter()
    examples: dict[str, str] = {}
    start = time.perf_counter()
    built = tried = 0

    @seed(chosen.seed)
    @settings(
        max_examples=chosen.figures,
        deadline=None,
        database=None,
        phases=[Phase.generate, Phase.shrink],
        suppress_health_check=list(HealthCheck),
    )
    @given(figures())
    def run(spec: FigureSpec) -> None:
        nonlocal built, tried
        if time.perf_counter() - start > chosen.seconds:
            raise KeyboardInterrupt  # the one thing that stops a run of hypothesis
        tried += 1
        try:
            made = build(spec)
        except FigureError as error:
            said_plainly(str(error))
            reason = re.sub(r"\d+|body|high|nose|tray|other|front|back|left|right|top|bottom", "*",
                            str(error))  # fmt: skip
            reasons[reason] += 1
            examples.setdefault(reason, f"{error} | {spec.parts[0].size}")
            return
        built += 1
        assert_sound(made)

    with suppress(KeyboardInterrupt):
        run()
    print(f"{tried} figures in {time.perf_counter() - start:.0f} s: {built} built and sound,"
          f" {tried - built} refused, none wrong")  # fmt: skip
    for reason, number in reasons.most_common(25):
        print(f"{number:6} {examples[reason]}")


if __name__ == "__main__":
    main()
