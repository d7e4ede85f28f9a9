"""What every test shares: prepared weather years go to a folder of this run, never to the person's own."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session", autouse=True)
def cache_of_this_run(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Weather years are prepared once a run and leave nothing behind."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("KITWRIGHT_CACHE", str(tmp_path_factory.mktemp("prepared-years")))
        yield
