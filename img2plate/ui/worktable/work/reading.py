"""Pictures of projects, read once in each process."""

from __future__ import annotations

from functools import lru_cache

from img2plate.image.target import read_target

read_once = lru_cache(maxsize=4)(read_target)
"""A picture of a project never changes; finding its cells takes longer than most shadings."""
