"""Files and who may see them: content on the disk, one record for each owner on the server."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any, BinaryIO

import redis

from schemas.artifacts import ArtifactRecord
from schemas.links import DIGEST
from schemas.problems import ProblemCode, Refusal, problem
from workers.queueing.artifacts import ContentFolder, IncomingFile, StoredFile
from workers.queueing.connection import in_reach, server_is_full
from workers.queueing.job_fields import moment
from workers.queueing.scripts import Scripts
from workers.queueing.settings import Settings


class Artifacts:
    """The port ``api.ports.ArtifactStore``."""

    def __init__(
        self, folder: ContentFolder, server: redis.Redis, settings: Settings, scripts: Scripts
    ) -> None:
        self._folder = folder
        self._server: Any = server
        self._prefix = settings.key_prefix
        self._keep_ms = round(1000 * settings.keep_upload_s)
        self._scripts = scripts

    def begin(self, max_bytes: int) -> Upload:
        return Upload(self, self._folder.begin(max_bytes))

    def put(
        self,
        chunks: Iterable[bytes],
        *,
        owner: str,
        media_type: str,
        title: str = "",
        max_bytes: int | None = None,
    ) -> ArtifactRecord:
        with Upload(self, self._folder.begin(max_bytes)) as upload:
            for chunk in chunks:
                upload.write(chunk)
            return upload.commit(owner=owner, media_type=media_type, title=title)

    def grant(self, owner: str, file: StoredFile) -> ArtifactRecord:
        """Let an owner see a file that is on the disk, as long as uploads are kept."""
        if not self._scripts.run("grant", owner=owner, keep_ms=self._keep_ms, files=[file.facts()]):
            raise server_is_full()
        return self.stat(file.digest, owner)

    def stat(self, digest: str, owner: str) -> ArtifactRecord:
        if not DIGEST.fullmatch(digest):
            raise Refusal(_no_such_artifact())
        with in_reach():
            text = self._server.hget(f"{self._prefix}art:{digest}", owner)
        if text is None:
            raise Refusal(_no_such_artifact())
        facts = json.loads(text)
        return ArtifactRecord(
            digest=digest,
            size_bytes=facts["size_bytes"],
            media_type=facts["media_type"],
            title=facts["title"],
            created=moment(facts["created"]),
            until=moment(facts["until"]),
        )

    def open(self, digest: str, owner: str) -> BinaryIO:
        return self.path(digest, owner).open("rb")

    def path(self, digest: str, owner: str) -> Path:
        self.stat(digest, owner)
        path = self._folder.path(digest)
        if not path.is_file():
            raise Refusal(_no_such_artifact())
        return path

    def delete(self, digest: str, owner: str) -> None:
        if not DIGEST.fullmatch(digest) or not self._scripts.run("take_back", owner=owner, digest=digest):
            raise Refusal(_no_such_artifact())

    def stored_bytes(self, owner: str) -> int:
        with in_reach():
            return int(self._server.get(f"{self._prefix}stored:{owner}") or 0)


class Upload:
    """A file on its way to an owner; the port ``api.ports.ArtifactWriter``."""

    def __init__(self, store: Artifacts, file: IncomingFile) -> None:
        self._store = store
        self._file = file

    @property
    def size_bytes(self) -> int:
        return self._file.size_bytes

    def write(self, chunk: bytes) -> None:
        self._file.write(chunk)

    def commit(
        self, *, owner: str, media_type: str, title: str = "", expected_digest: str | None = None
    ) -> ArtifactRecord:
        digest = self._file.settle(expected_digest)
        stored = StoredFile(digest=digest, size_bytes=self.size_bytes, media_type=media_type, title=title)
        return self._store.grant(owner, stored)

    def abort(self) -> None:
        self._file.abort()

    def __enter__(self) -> Upload:
        return self

    def __exit__(self, *exception: object) -> None:
        self.abort()


def _no_such_artifact() -> Any:
    return problem(
        ProblemCode.NO_SUCH_ARTIFACT,
        "no file of yours has this digest",
        remedy="upload it first, and use the href that the answer gives",
    )
