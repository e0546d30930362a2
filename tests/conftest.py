"""Tests run side by side, each on one core: threads that wait for each other would only spin."""

from __future__ import annotations

import os

import numba

numba.set_num_threads(1)
os.environ["NUMBA_NUM_THREADS"] = "1"  # for programs that tests start; numba here has read its own
