"""The project's few verbs, for a machine that has only Python 3.11+ with venv.

    python3 dev.py demo        the main job on a sample picture; says where the pack is
    python3 dev.py worktable   the page to make plates on, opened in your browser
    python3 dev.py test        all tests (add pytest arguments after it)
    python3 dev.py lint        ruff, mypy, and the documents without a warning
    python3 dev.py venv        .venv alone
    python3 dev.py loops       compile all loops, which the first runs of anything wait for
    python3 dev.py docs        the documents as pages, in build/docs
    python3 dev.py bench       the benchmarks, one after the other
    python3 dev.py supply      a bill of materials, and a look for known flaws
    python3 dev.py soak        the tests of damaged files and faults, for long

Each builds .venv when it is missing or pyproject.toml changed, and says first what it installs.
Standard library only, as it runs before anything is installed.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
EXTRAS = ("test", "lint", "docs")
SUPPLY = ("cyclonedx-bom>=7", "pip-audit>=2.7")
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def run(*command: str | Path) -> None:
    """Run a command in the project folder; leave with its exit code when it fails."""
    code = subprocess.run([str(part) for part in command], cwd=ROOT, check=False).returncode
    if code:
        sys.exit(code)


def ensure_venv() -> None:
    """Build .venv, unless the one there was built from this very pyproject.toml."""
    stamp = VENV / "built-from.txt"
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()
    if stamp.is_file() and stamp.read_text() == wanted:
        return
    say(f"making {VENV} (once; a minute or two), and installing into it: {', '.join(packages())}")
    run(sys.executable, "-m", "venv", "--clear", VENV)
    run(BIN / "python", "-m", "pip", "install", "--quiet", "-e", f".[{','.join(EXTRAS)}]")
    stamp.write_text(wanted)


def packages() -> list[str]:
    """The project's packages and those of its extras, as pyproject.toml names them."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [*project["dependencies"], *(line for extra in EXTRAS for line in extras[extra])]
    return [re.split(r"[<>=! ;]", line)[0] for line in wanted]


def ensure_browser() -> None:
    """Install Debian's Chromium for the page tests where we may, and say so; never fails."""
    if any(shutil.which(name) for name in BROWSERS):
        return
    may = shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0
    if may:
        say("the page tests drive a Chromium and there is none: apt-get update,"
            " apt-get install chromium (for all users of this machine)")  # fmt: skip
        for command in (["update", "-qq"], ["install", "-y", "-qq", "chromium"]):
            if subprocess.run(["apt-get", *command], stdout=sys.stderr, check=False).returncode:
                say(f"apt-get {command[0]} failed, as said above")
                break
    if not any(shutil.which(name) for name in BROWSERS):
        say("no Chromium here: the page tests are skipped. To run them: apt-get install chromium")


def say(words: str) -> None:
    """Tell on standard error what is about to happen."""
    print(words, file=sys.stderr, flush=True)


def demo() -> None:
    """Make one pack from a sample sprite and say where it is."""
    run(BIN / "img2plate", "make", ROOT / "sample_inputs" / "lighthouse.png", "--out", "packs")


def worktable(*arguments: str) -> None:
    """Start the page and open it."""
    run(BIN / "img2plate", "worktable", *(arguments or ("--open",)))


def venv() -> None:
    """Nothing more: .venv is there by now."""


def loops() -> None:
    """Compile all loops, and all modules and tests to bytecode, once for those that come after."""
    run(BIN / "python", ROOT / "tests" / "use_loops.py")
    collect = [str(BIN / "python"), "-m", "pytest", "--collect-only", "-q"]
    subprocess.run(collect, cwd=ROOT, stdout=subprocess.DEVNULL, check=False)


def test(*arguments: str) -> None:
    """Run the tests, three at a time unless told otherwise: those of the pages wait a lot."""
    ensure_browser()
    run(BIN / "python", "-m", "pytest", *(arguments or ("-q", "-n", "3", "--dist", "worksteal")))


def soak(*arguments: str) -> None:
    """Run all tests for long: 100,000 damaged files a reader, 6,000 kills, more cases of others."""
    more = arguments or ("--inputs", "100000", "--kills", "6000", "-n", "2")
    run(BIN / "python", "-m", "pytest", "-q", "--soak", *more)


def supply() -> None:
    """Write build/bom.cdx.json, and look all packages up in the database of known flaws."""
    tools, bom = ROOT / "build" / "supply", ROOT / "build" / "bom.cdx.json"
    if not (tools / "bin").is_dir():
        say(f"making {tools}, and installing into it: {', '.join(SUPPLY)}")
        run(sys.executable, "-m", "venv", tools)
        run(tools / "bin" / "python", "-m", "pip", "install", "--quiet", *SUPPLY)
    run(tools / "bin" / "cyclonedx-py", "environment", "--pyproject", "pyproject.toml",
        "--output-reproducible", "--of", "JSON", "-o", bom, BIN / "python")  # fmt: skip
    print(bom, flush=True)
    run(tools / "bin" / "pip-audit", "--path", next((VENV / "lib").glob("*/site-packages")))


def lint() -> None:
    """Check style and types."""
    run(BIN / "ruff", "check", ".")
    run(BIN / "ruff", "format", "--check", ".")
    run(BIN / "mypy")
    docs()


def docs() -> None:
    """Build the pages of docs/; a warning fails."""
    pages = ROOT / "build" / "docs"
    run(BIN / "python", "-m", "sphinx", "-W", "--keep-going", "-q", ROOT / "docs", pages)
    print(f"{pages / 'index.html'}")


def bench() -> None:
    """Run each benchmark."""
    for script in sorted((ROOT / "bench").glob("bench_*.py")):
        print(f"== {script.name}")
        run(BIN / "python", script)


def main() -> None:
    """Pick the verb."""
    verbs = {
        "venv": venv, "loops": loops,
        "demo": demo, "worktable": worktable, "test": test, "lint": lint, "docs": docs,
        "bench": bench, "soak": soak, "supply": supply,
    }  # fmt: skip
    name, *rest = sys.argv[1:] or [""]
    if name not in verbs:
        sys.exit(__doc__)
    # Bytecode is kept: each of the processes that tests start would read all modules anew.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    ensure_venv()
    verbs[name](*rest)


if __name__ == "__main__":
    main()
