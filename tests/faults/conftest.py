"""Fixtures of the tests that kill things."""

from collections.abc import Iterator

import pytest

from tests.support.site import Site
from workers.queueing.settings import Settings


@pytest.fixture
def site(settings: Settings) -> Iterator[Site]:
    """An installation without workers yet."""
    made = Site(settings)
    yield made
    made.close()
