"""Our own pictures to try the page with."""

from __future__ import annotations

from pathlib import Path

SAMPLES = ("lighthouse.png", "harbour.jpg", "puffin.png", "trawler.png")


def samples_folder() -> Path:
    """Where they are: in the installed package, else in a checkout."""
    installed = Path(__file__).parent / "samples"
    return installed if installed.is_dir() else Path(__file__).parents[4] / "sample_inputs"
