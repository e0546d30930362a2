"""Many pictures made by the workers of a Dask cluster: processes of this machine, or of many.

Each worker makes one picture at a time, on one thread, and each comes out as it does alone. Work of
a worker that is lost goes to another. All workers reach pictures and packs by the same paths.
Needs the extra `batch`.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from img2plate.base.errors import Img2PlateError, OptionError, OutputError
from img2plate.pipeline.batch import Result, make_one
from img2plate.pipeline.options import MakeOptions

ENDINGS = frozenset({".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff"})
"""Of the files of a folder that are taken for pictures."""
_LOST = 3
"""Workers that a picture may lose before it is given up."""


@dataclass(frozen=True)
class Cluster:
    """Which workers do the work."""

    workers: int = 1
    """Processes on this machine, when there is no scheduler."""
    scheduler: str = ""
    """Address of a scheduler that is running, as in tcp://studio:8786; empty: a cluster of one's
    own on this machine, for as long as the run."""

    def __call__(self, work: Sequence[tuple[Path, str]], options: MakeOptions) -> Iterator[Result]:
        """Results of pictures and their names, in the order of the work.

        Raises OptionError when the extra is not there, or nobody answers at the address.
        """
        if not work:
            return
        out = options.pack.out.resolve()
        options = replace(options, pack=replace(options.pack, out=out))
        with self._client() as client:
            waiting = [
                client.submit(make_one, image.resolve(), name, options, pure=False)
                for image, name in work
            ]
            for number, (image, _) in enumerate(work):
                yield _result(image, waiting[number])
                waiting[number] = None  # so that the cluster forgets it

    @contextmanager
    def _client(self) -> Iterator[Any]:
        """Someone to give work to."""
        try:
            import dask
            from distributed import Client, LocalCluster
        except ImportError as error:
            raise OptionError(
                "a cluster needs the extra `batch`: pip install 'img2plate[batch]'"
            ) from error
        threads = {f"distributed.nanny.pre-spawn-environ.{name}_NUM_THREADS": "1"
                   for name in ("NUMBA", "OPENBLAS", "OMP")}  # fmt: skip
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        settings = {**threads, "distributed.scheduler.allowed-failures": _LOST}
        with dask.config.set(settings):
            if self.scheduler:
                try:
                    client = Client(self.scheduler, timeout=10)
                except (OSError, ValueError) as error:
                    raise OptionError(
                        "nobody answers there", field="scheduler", value=self.scheduler
                    ) from error
                with client:
                    yield client
                return
            with LocalCluster(
                n_workers=self.workers, threads_per_worker=1, dashboard_address=None,
                silence_logs=logging.CRITICAL,
            ) as cluster, Client(cluster) as client:  # fmt: skip
                yield client


def _result(image: Path, future: Any) -> Result:
    """What came of one picture."""
    from distributed import KilledWorker

    try:
        result: Result = future.result()
    except KilledWorker:
        return OutputError(
            f"{image}: {_LOST + 1} workers were ended from outside while they made it, as when"
            " memory runs out; try again with fewer `workers`"
        )
    except Img2PlateError as error:
        return error
    return result


def pictures_in(paths: Sequence[Path]) -> list[Path]:
    """Files as they are named, and of folders the pictures in them, by name.

    Raises OptionError for a folder without pictures.
    """
    found: list[Path] = []
    for path in paths:
        if not path.is_dir():
            found.append(path)
            continue
        inside = sorted(each for each in path.iterdir() if each.suffix.lower() in ENDINGS)
        if not inside:
            raise OptionError("holds no picture", value=str(path))
        found += inside
    return found
