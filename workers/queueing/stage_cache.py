"""What stages made before: the same process on the same inputs need not run again."""

from __future__ import annotations

import json
from typing import Any

import redis

from workers.queueing.artifacts import ContentFolder, StoredFile
from workers.queueing.connection import in_reach
from workers.queueing.settings import Settings


class StageCache:
    """Outputs by cache key (``schemas.steps.cache_key``); ``Leases.hand_on`` fills it, in the same move."""

    def __init__(self, folder: ContentFolder, server: redis.Redis, settings: Settings) -> None:
        self._folder = folder
        self._server: Any = server
        self._prefix = settings.key_prefix

    def find(self, key: str) -> dict[str, StoredFile] | None:
        """Return the files that a step with this key left, if all are still here."""
        with in_reach():
            text = self._server.get(f"{self._prefix}same:{key}")
        if text is None:
            return None
        files = {name: StoredFile(**facts) for name, facts in json.loads(text).items()}
        return files if all(self._folder.has(file.digest) for file in files.values()) else None
