"""Run a command over several files: one that fails does not lose the others."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, TypeVar

import click

from img2plate.base.errors import Img2PlateError
from img2plate.base.words import many
from img2plate.ui.cli.shared.command import spoken
from img2plate.ui.cli.shared.progress import Bar

if TYPE_CHECKING:
    from typing import Self

    from img2plate.pipeline.pack import Pack

ResultT = TypeVar("ResultT")


def run_each(
    paths: Sequence[Path],
    run: Callable[[Path, str, Bar], ResultT | list[ResultT]],
    tell: Callable[[ResultT], None],
    *,
    names: Sequence[str] = (),
    as_json: bool = False,
) -> None:
    """Run one file after the other and tell what came out; the first error sets the exit code.

    run: takes a file, its name among `names` (else its stem), and a progress bar, and gives one
    result or several; as_json: also
    print the result's `as_json()`, one line each.
    """
    failed = 0
    for path, name in zip(paths, names or [path.stem for path in paths], strict=True):
        try:
            with Bar(path.name) as bar:
                result = run(path, name, bar)
        except Img2PlateError as error:
            click.echo(f"img2plate: {spoken(str(error))}", err=True)
            failed = failed or error.exit_code
            continue
        for each in result if isinstance(result, list) else [result]:
            if as_json:
                echo_json(each)
            tell(each)
    if failed:
        raise click.exceptions.Exit(int(failed))


class EachTold:
    """Tells what came of each of many files, and how far all are; the first error sets the exit
    code, and what failed is named once more at the end."""

    def __init__(self, files: int, tell: Callable[[Any], None], *, as_json: bool) -> None:
        self._files, self._tell, self._as_json = files, tell, as_json
        self._done, self._left_out = 0, 0
        self._failed: list[tuple[Path, Img2PlateError]] = []
        self._bar = Bar(f"{files} files")

    def __call__(self, path: Path, result: list[Any] | Img2PlateError | None) -> None:
        """One more is done: its results, why it failed, or None where it was left out."""
        self._done += 1
        self._bar.clear()
        if result is None:
            self._left_out += 1
        elif isinstance(result, Img2PlateError):
            self._failed.append((path, result))
            click.echo(f"img2plate: {spoken(str(result))}", err=True)
        else:
            for each in result:
                if self._as_json:
                    echo_json(each)
                self._tell(each)
        self._bar(f"{self._done} done", self._done / self._files)

    def __enter__(self) -> Self:
        self._bar.__enter__()
        self._bar("the first is being made", 0.0)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._bar.__exit__(kind, error, trace)
        if kind is not None:
            return
        if self._left_out:
            click.echo(f"{_files(self._left_out)} left out: done before", err=True)
        if len(self._failed) and self._files > 1:
            names = ", ".join(str(path) for path, _ in self._failed)
            click.echo(f"{_files(len(self._failed))} of {self._files} failed: {names}", err=True)
        if self._failed:
            raise click.exceptions.Exit(int(self._failed[0][1].exit_code))


def _files(many: int) -> str:
    return f"{many} {'file' if many == 1 else 'files'}"


def echo_json(result: Any) -> None:
    """Print a result as one line of JSON."""
    click.echo(spoken(json.dumps(result.as_json(), ensure_ascii=False)))


def unique_names(paths: Iterable[Path]) -> list[str]:
    """Their stems; later ones of equal names numbered, so that two pictures share no pack."""
    taken: set[str] = set()
    names = []
    for path in paths:
        name, number = path.stem, 2
        while name in taken:
            name, number = f"{path.stem}-{number}", number + 1
        taken.add(name)
        names.append(name)
    return names


def one_name(name: str, paths: Sequence[Path]) -> None:
    """Refuse one name for several packs."""
    if name and len(paths) > 1:
        raise click.UsageError("--name goes with one plate; leave it out for several")


def ask_on_terminal(yes: bool) -> Callable[[str], bool] | None:
    """How to ask whether to go on; None where nobody is there to answer, or has already."""
    if yes or not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    return lambda what: click.confirm(f"{what}. Go on?", err=True)


def tell_pack(pack: Pack) -> None:
    """Say in a few lines what was made, and where it is."""
    (width, height), (mm_wide, mm_high) = pack.plate.size, pack.plate.size_mm
    counts, (across, down) = pack.counts, pack.split.map_size
    in_rows = f"{across} x {down}" if pack.split.is_grid else str(len(pack.split.tiles))
    click.echo(
        f"{pack.folder}: {width} x {height} cells, {mm_wide / 10:g} x {mm_high / 10:g} cm,"
        f" {many(counts.beads, 'bead')} in {many(len(counts.colours), 'colour')},"
        f" {in_rows} {'board' if in_rows in ('1', '1 x 1') else 'boards'},"
        f" about {counts.effort.number} {counts.effort.words}",
        err=True,
    )
    if looks := pack.looks:
        click.echo(
            f"  look error {looks.error:.1f} from {looks.distance_m:.1f} m,"
            f" SSIM {looks.similarity:.2f}, {looks.specks:.0%} specks",
            err=True,
        )
    for note in pack.notes:
        click.echo(f"  {spoken(note)}", err=True)
    click.echo("  print sheets.pdf at 100%, or open follow.html on a phone", err=True)
