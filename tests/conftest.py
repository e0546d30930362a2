"""Tests run side by side, each on one core: threads that wait for each other would only spin."""

from __future__ import annotations

import os

os.environ["NUMBA_NUM_THREADS"] = "1"  # before numba is imported; programs that tests start, too
os.environ["OPENBLAS_NUM_THREADS"] = "1"  # and before numpy
