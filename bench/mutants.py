"""How many small mistakes do the tests see? Mutants of a room, each tried on the room's own tests.

    python bench/mutants.py split                      a sample of 200 places, one mutant each
    python bench/mutants.py colour --most 60 --seed 7
    python bench/mutants.py tally --only bags.py:40    all mutants of a line, to see one again

Needs cosmic-ray (`pip install cosmic-ray`), whose operators make the mutants. A mutant is put in
the place of its module in a fork of this process, where the libraries are loaded already; no file
is changed. Loops that numba compiles run as plain Python then. A mutant is caught when a test fails
or when it takes twenty times the processor time of the tests (at least 30 s); those that live are
printed. What differs in annotations alone, or in `frozen` or `strict`, is not counted.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import importlib
import io
import os
import random
import resource
import signal
import sys
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
ROOMS = {
    "split": ["tests/split"],
    "tally": ["tests/tally"],
    "plate/limits": [f"tests/plate/test_{name}.py" for name in ("subset", "transport", "choice",
                     "advice", "keep", "swaps")],
    "colour": ["tests/colour"],
}  # fmt: skip
REWRITE = "ignore::pytest.PytestAssertRewriteWarning"
LIBRARIES = (
    "numpy", "scipy.optimize", "scipy.ndimage", "scipy.spatial", "cv2", "numba", "PIL.Image",
    "skimage.color", "pytest", "hypothesis.strategies", "reportlab", "xlsxwriter",
)  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One change in one place."""

    path: Path
    line: int
    operator: str
    occurrence: int

    def source(self) -> str:
        """The module's text with the change."""
        from cosmic_ray.mutating import mutate_code
        from cosmic_ray.plugins import get_operator

        text = self.path.read_text("utf-8")
        return str(mutate_code(text, get_operator(self.operator)(), self.occurrence))

    def __str__(self) -> str:
        was = self.path.read_text("utf-8").splitlines()
        now = self.source().splitlines()
        changed = next((b for a, b in zip(was, now, strict=False) if a != b), "(a line less)")
        operator = self.operator.removeprefix("core/")
        return f"{self.path.name}:{self.line} {operator}: {changed.strip()}"


def mutants(path: Path) -> dict[tuple[int, int], list[Mutant]]:
    """All mutants of a module by the place they change."""
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.plugins import get_operator, operator_names

    nodes = list(ast_nodes(get_ast(path.read_text("utf-8"))))
    places: dict[tuple[int, int], list[Mutant]] = {}
    for name in sorted(operator_names()):
        if name.startswith("core/Variable"):
            continue  # these want arguments
        operator, occurrence = get_operator(name)(), 0
        for node in nodes:
            for (line, column), _ in operator.mutation_positions(node):
                places.setdefault((line, column), []).append(Mutant(path, line, name, occurrence))
                occurrence += 1
    return places


def on_line(room: str, where: str) -> Iterator[Mutant]:
    """All mutants of `FILE:LINE`."""
    name, _, line = where.partition(":")
    for place in mutants(ROOT / "img2plate" / room / name).values():
        yield from (mutant for mutant in place if mutant.line == int(line))


class _Bare(ast.NodeTransformer):
    """Takes out what no input can show: annotations, and `frozen` and `strict`, which are guards
    against code to come."""

    def visit_arg(self, node: ast.arg) -> ast.arg:
        node.annotation = None
        return node

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.returns = None
        return self.generic_visit(node)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        node.annotation = ast.Constant(None)
        return self.generic_visit(node)

    def visit_keyword(self, node: ast.keyword) -> ast.AST:
        if node.arg in ("frozen", "strict"):
            node.value = ast.Constant(None)
        return self.generic_visit(node)


def bare(text: str) -> str:
    """What of a module's text runs; nothing when it is no Python, as some mutants of `*` are."""
    try:
        return ast.dump(_Bare().visit(ast.parse(text)))
    except SyntaxError:
        return ""


def sample(room: str, most: int, seed: int) -> Iterator[Mutant]:
    """One mutant of each of so many places, at random; those in annotations are passed over."""
    chance = random.Random(seed)
    places = []
    for path in sorted((ROOT / "img2plate" / room).glob("*.py")):
        places += list(mutants(path).values())
    chance.shuffle(places)
    print(f"{room}: {len(places)} places, {sum(map(len, places))} mutants")
    count = 0
    for place in places:
        mutant = chance.choice(place)
        changed = bare(mutant.source())
        if changed and changed != bare(mutant.path.read_text("utf-8")):
            yield mutant
            count += 1
        if count == most:
            return


class _Finder:
    """Gives a mutant's text for its module."""

    def __init__(self, mutant: Mutant, text: str) -> None:
        self.name = ".".join(mutant.path.relative_to(ROOT).with_suffix("").parts)
        self.path, self.text = str(mutant.path), text

    def find_spec(self, name: str, *_: object) -> ModuleSpec | None:
        """The spec of the mutated module."""
        if name != self.name:
            return None
        loader = _Loader(name, self.path)
        loader.text = self.text
        spec = ModuleSpec(name, loader, origin=self.path)
        spec.has_location = True
        return spec


class _Loader(SourceFileLoader):
    """Compiles the text it was given."""

    text = ""

    def get_code(self, _fullname: str) -> Any:
        """The mutant's code."""
        return compile(self.text, self.path, "exec")


def run_tests(tests: list[str], mutant: Mutant | None, limit: int) -> tuple[str, float]:
    """'lives', 'caught' or 'too long', and the processor seconds, of the tests in a fork."""
    start = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    text = mutant.source() if mutant else ""
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_CPU, (limit, limit))
        code = 1
        try:
            code = _child(tests, mutant, text)
        except BaseException:
            if mutant is None:
                traceback.print_exc()
        finally:
            sys.stdout.flush()
            os._exit(code)
    _, status = os.waitpid(child, 0)
    seconds = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - start
    if os.WIFSIGNALED(status):
        return "too long", seconds
    return ("lives" if os.WEXITSTATUS(status) == 0 else "caught"), seconds


def _child(tests: list[str], mutant: Mutant | None, text: str) -> int:
    """Run pytest with the mutant in place; its exit code."""
    import hypothesis
    import pytest

    if mutant:
        sys.meta_path.insert(0, _Finder(mutant, text))
        if "_loops" in mutant.path.name:
            import numba

            numba.config.DISABLE_JIT = True
    phases = hypothesis.Phase.explicit, hypothesis.Phase.generate
    hypothesis.settings.register_profile("mutants", database=None, derandomize=True, phases=phases)
    hypothesis.settings.load_profile("mutants")
    words = ["-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", "-W", REWRITE]
    quiet = contextlib.redirect_stdout(io.StringIO()) if mutant else contextlib.nullcontext()
    with quiet:
        return int(pytest.main([*words, *tests]))


def main() -> None:
    """Print what lives, and the share caught."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--most", type=int, default=200, help="places tried")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", default="", help="FILE:LINE")
    asked = parser.parse_args()
    os.environ["OPENBLAS_NUM_THREADS"] = os.environ["NUMBA_NUM_THREADS"] = "1"
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    for name in LIBRARIES:
        importlib.import_module(name)
    tests = [test for test in ROOMS[asked.room] if Path(test).exists()]
    state, usual = run_tests(tests, None, 600)
    if state != "lives":
        sys.exit("the tests fail without any mutant")
    print(f"tests alone: {usual:.1f} s")
    chosen = sample(asked.room, asked.most, asked.seed)
    if asked.only:
        chosen = on_line(asked.room, asked.only)
    counts = dict.fromkeys(("caught", "too long", "lives"), 0)
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # stopped: says how far it came
    with contextlib.suppress(KeyboardInterrupt):
        for mutant in chosen:
            state, _ = run_tests(tests, mutant, max(30, round(20 * usual)))
            counts[state] += 1
            if state == "lives":
                print(f"lives: {mutant}", flush=True)
    total = sum(counts.values())
    share = 1 - counts["lives"] / max(total, 1)
    slow = f"{counts['too long']} of them took too long"
    print(f"{asked.room}: {total - counts['lives']} of {total} caught ({share:.1%}), {slow}")


if __name__ == "__main__":
    main()
