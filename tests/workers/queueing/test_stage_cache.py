"""What stages made before is found again."""

from __future__ import annotations

import pytest

from tests.support.clock import Clock
from tests.support.jobs import claimed, request
from workers.queueing.artifacts import ContentFolder, StoredFile
from workers.queueing.leases import Leases
from workers.queueing.service import Service
from workers.queueing.settings import Settings
from workers.queueing.stage_cache import StageCache


@pytest.fixture
def clock() -> Clock:
    """The store's time, turned by hand."""
    return Clock()


@pytest.fixture
def folder(settings: Settings) -> ContentFolder:
    """The folder of the store's files."""
    return ContentFolder(settings.artifacts_folder)


@pytest.fixture
def cache(service: Service, folder: ContentFolder, settings: Settings) -> StageCache:
    """The cache over that folder."""
    return StageCache(folder, service.server, settings)


@pytest.fixture
def made(service: Service, folder: ContentFolder, leases: Leases) -> dict[str, StoredFile]:
    """What a step of ada's left under the key ``k``."""
    job = request()
    service.jobs.submit(job)
    claim = claimed(leases, job.id)
    digest = folder.put_bytes(b"abc")
    files = {"message": StoredFile(digest=digest, size_bytes=3, media_type="text/plain", title="it")}
    leases.hand_on(claim, files, cache_key="k")
    return files


def test_what_was_made_is_found_by_its_key(cache: StageCache, made: dict[str, StoredFile]) -> None:
    """And nothing by another."""
    assert cache.find("k") == made
    assert cache.find("l") is None


def test_what_has_lost_a_file_is_not_found(
    cache: StageCache, made: dict[str, StoredFile], folder: ContentFolder
) -> None:
    """Half a result is none: the stage runs again."""
    folder.path(made["message"].digest).unlink()

    assert cache.find("k") is None


def test_its_files_outlive_the_job(
    service: Service, cache: StageCache, made: dict[str, StoredFile], settings: Settings, clock: Clock
) -> None:
    """They are kept for the cache, not only for their owner, a lease longer than the entry.

    Who finds the entry in its last moment has that long to hand the files on.
    """
    service.artifacts.delete(made["message"].digest, "ada")
    record = f"{settings.key_prefix}art:{made['message'].digest}"

    clock.forward(settings.keep_stage_s + settings.lease_s - 0.1)
    assert service.keeper.turn()
    assert service.server.hkeys(record) == [""]
    clock.forward(0.2)
    assert service.keeper.turn()
    assert not service.server.exists(record)
