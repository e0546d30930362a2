"""A wheel installed in an empty place carries the palettes, and works from another folder."""

from __future__ import annotations

import email
import os
import subprocess
import sys
import tarfile
import tomllib
import venv
import zipfile
from importlib.metadata import distribution
from pathlib import Path

import pytest
from support import made_once, some

from img2plate.ui.worktable.store.samples import SAMPLES

ROOT = Path(__file__).parents[1]
MAKE = ("make", str(ROOT / "sample_inputs" / "lighthouse.png"), "--palette", "quay-24")
BUNDLED = {"quay-24", "harbour-48", "sea-96", "css-named"}


def output(*command: str | Path, cwd: Path | None = None) -> str:
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=True)
    return done.stdout.strip()


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build sdist and wheel, the wheel from the sdist, as an installer would."""
    with made_once(tmp_path_factory, "dist") as (out, is_empty):
        if is_empty:
            command = [sys.executable, "-m", "build", "--outdir", str(out), str(ROOT)]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            assert done.returncode == 0, done.stdout + done.stderr
    return out


def test_wheel_and_sdist_carry_the_palettes(built: Path) -> None:
    wheel = zipfile.ZipFile(next(built.glob("*.whl"))).namelist()
    assert {f"img2plate/palettes/{name}.csv" for name in BUNDLED} <= set(wheel)
    assert "img2plate/fonts/capitals-07.txt" in wheel
    assert {"img2plate/py.typed", "img2plate/solid/fit/coins.csv"} <= set(wheel)
    page = "img2plate/ui/worktable"
    assert {
        f"{page}/web/static/project.js",
        *(f"{page}/store/samples/{s}" for s in SAMPLES),
    } <= set(wheel)
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert {f"palettes/{name}.csv" for name in BUNDLED} <= names
    assert {"dev.py", "README.md", "sample_inputs/lighthouse.png"} <= names


def test_the_wheel_says_its_licences_and_carries_them(built: Path) -> None:
    """Core metadata 2.4: an SPDX expression, and the files (PEP 639)."""
    with zipfile.ZipFile(next(built.glob("*.whl"))) as wheel:
        (folder,) = {name.split("/")[0] for name in wheel.namelist() if ".dist-info/" in name}
        said = email.message_from_bytes(wheel.read(f"{folder}/METADATA"))
        files = {name: wheel.read(f"{folder}/licenses/{name}").decode()
                 for name in said.get_all("License-File", [])}  # fmt: skip
    assert said["License-Expression"] == "MIT AND CC0-1.0 AND OFL-1.1"
    assert set(files) == {
        "LICENSE",
        "LICENSES/CC0-1.0.txt",
        "LICENSES/OFL-1.1.txt",
        "NOTICE",
    }
    assert "CC0 1.0 Universal" in files["LICENSES/CC0-1.0.txt"]
    font = distribution("fontpkg-atkinson-hyperlegible").read_text("licenses/LICENSE") or ""
    assert font.splitlines()[0] in files["NOTICE"]
    assert said["Author"] == "the img2plate founders"
    assert not [line for line in said.get_all("Classifier", []) if line.startswith("License")]


@pytest.mark.soak
def test_an_unpacked_sdist_has_what_its_own_tests_read(built: Path, tmp_path: Path) -> None:
    """Those that read documents, palettes and samples; and every test can be collected."""
    with tarfile.open(next(built.glob("*.tar.gz"))) as archive:
        archive.extractall(tmp_path, filter="data")
    (unpacked,) = tmp_path.iterdir()
    env = os.environ | {"PYTHONPATH": str(unpacked)}
    pytest_here = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
    for words in (
        ["--collect-only", "-q", "tests"],
        ["tests/test_docs.py", "tests/test_palettes.py", "-k", "not examples_parse and not python"],
    ):
        done = subprocess.run(
            [*pytest_here, *words], cwd=unpacked, env=env, capture_output=True, text=True,
            check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout


def test_the_test_group_is_the_test_extra() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    extra = project["project"]["optional-dependencies"]["test"]
    assert project["dependency-groups"]["test"] == extra


NO_NETWORK = """
import sys

def refuse(event, _):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname"):
        raise RuntimeError("the network was asked for: " + event)

sys.addaudithook(refuse)
"""
SEALED = 'mount --bind "$0" "$0" && mount -o remount,ro,bind "$0" && exec "$@"'
"""A shell's words: the folder that is the first word can only be read, then the others are run."""


@pytest.fixture(scope="module")
def installed(built: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Python and site-packages of an environment that borrows only the packages of others.

    Its path has spaces and letters that are not ASCII; whoever asks for the network there fails.
    """
    with made_once(tmp_path_factory, "env") as (folder, is_empty):
        home = folder / "Möwe & Boot 海"
        if is_empty:
            install(next(built.glob("*.whl")), home)
    python = home / "bin" / "python"
    return python, Path(output(python, "-c", SITE))


SITE = "import site; print(site.getsitepackages()[0])"


def install(wheel: Path, home: Path) -> None:
    """Make an environment with the wheel in it, by the pip that is here."""
    venv.create(home)
    python = home / "bin" / "python"
    pip = [sys.executable, "-m", "pip", "--python", str(python)]
    subprocess.run([*pip, "install", "--quiet", "--no-deps", str(wheel)], check=True)
    site = Path(output(python, "-c", SITE))
    borrowed = [path for path in sys.path if path.endswith("site-packages")]
    (site / "borrowed.pth").write_text("\n".join(borrowed) + "\n")
    (site / "sitecustomize.py").write_text(NO_NETWORK)


def sealed(site: Path) -> list[str]:
    """Words before a command that make site-packages read-only for it, and cut the network off."""
    words = ["unshare", "--net", "--mount", "sh", "-c", SEALED, str(site)]
    try:
        works = not subprocess.run([*words, "true"], capture_output=True, check=False).returncode
    except FileNotFoundError:
        works = False
    return words if works else []


@pytest.mark.parametrize("command", some(
    ("make", "{samples}/lighthouse.png", "--palette", "quay-24"),
    long=[
        ("sheets", "packs/lighthouse/plate.png", "--template"),
        ("figure", "{samples}/figures/trawler-box.toml"),
        ("publish", "packs/lighthouse", "--out", "site"),
        ("compare", "{samples}/buoy.png", "--palette", "quay-24", "--palette", "sea-96"),
    ],
), ids=lambda command: command[0])  # fmt: skip
def test_the_installed_wheel_works_where_little_is_there(
    command: tuple[str, ...], installed: tuple[Path, Path], tmp_path: Path
) -> None:
    """No network, no home, nothing writable but the folder it is called in."""
    python, site = installed
    folder = tmp_path / "Kästen für Ebbe"
    folder.mkdir()
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "HOME")}
    program = [*sealed(site), str(python.parent / "img2plate")]
    words = [word.format(samples=ROOT / "sample_inputs") for word in command]
    asked = [words] if command[0] == "make" else [[*MAKE], words]
    for each in asked:
        done = subprocess.run([*program, *each], cwd=folder, env=environment, text=True,
                              capture_output=True, check=False)  # fmt: skip
        assert done.returncode == 0, done.stderr
    if command[0] == "make":
        assert (folder / "packs" / "lighthouse" / "sheets.pdf").is_file()
        assert str(site) in output(
            python, "-E", "-c", "import img2plate; print(img2plate.__file__)", cwd=folder
        )


def test_that_place_is_sealed(installed: tuple[Path, Path]) -> None:
    """What the test above stands on."""
    python, site = installed
    asks = "import socket; socket.getaddrinfo('localhost', 9)"
    done = subprocess.run([python, "-E", "-c", asks], capture_output=True, text=True, check=False)
    assert "the network was asked for" in done.stderr
    if words := sealed(site):
        writes = subprocess.run([*words, "touch", site / "x"], capture_output=True, check=False)
        assert writes.returncode
        assert not (site / "x").exists()
