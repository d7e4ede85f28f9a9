"""What every test shares: prepared weather years go to a folder of this run, never to the person's own."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

# The same examples on every run and machine: a red run means a fault, not a draw of the dice. Some worlds are
# slow to draw or often turned down; that is no fault of theirs.
settings.register_profile(
    "steady",
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
)
settings.load_profile("steady")


@pytest.fixture(scope="session", autouse=True)
def cache_of_this_run(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Weather years are prepared once a run and leave nothing behind."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("KITWRIGHT_CACHE", str(tmp_path_factory.mktemp("prepared-years")))
        yield
