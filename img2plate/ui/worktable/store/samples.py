"""Our own pictures to try the page with."""

from __future__ import annotations

from pathlib import Path

FIGURES = {
    "harbour-lamp": "a harbour lamp", "trawler-box": "a money box", "boathouse": "a boathouse",
}  # fmt: skip
"""Sample figures, and what they are."""
SAMPLES = ("lighthouse.png", "harbour.jpg", "puffin.png", "trawler.png")


def samples_folder() -> Path:
    """Where they are: in the installed package, else in a checkout."""
    installed = Path(__file__).parent / "samples"
    return installed if installed.is_dir() else Path(__file__).parents[4] / "sample_inputs"


def figures_folder() -> Path:
    """Where the sample figures and their pictures are."""
    return samples_folder() / "figures"


def figure_picture(name: str) -> Path:
    """What a sample figure looks like."""
    installed = Path(__file__).parent / "samples" / "drawn"
    folder = installed if installed.is_dir() else Path(__file__).parents[4] / "docs" / "pictures"
    return folder / f"{name}.png"
