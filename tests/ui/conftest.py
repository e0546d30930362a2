"""One worktable for all tests that look at it with a browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from worktable import served


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("projects")) as (found, _):
        yield found
