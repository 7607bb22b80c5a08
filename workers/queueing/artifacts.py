"""Files by their content, on a local disk: written once, read-only, found by SHA-256.

``sha256:ab12…`` lies in ``ab/ab12…``. A file comes in under another name, is flushed to the disk, and only
then gets its own: a name that exists stands for whole content, also after a power cut. Who may see a file
is not known here (``artifact_store``).
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
import time
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from schemas.links import DIGEST
from schemas.problems import ProblemCode, Refusal, problem

_FOLDERS = [f"{number:02x}" for number in range(256)]
_FLUSHES_AT_ONCE = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFile:
    """A file in the store, and what it is."""

    digest: str
    size_bytes: int
    media_type: str
    title: str = ""

    def facts(self) -> dict[str, Any]:
        """Return these facts as the scripts take them."""
        return {
            "digest": self.digest,
            "size_bytes": self.size_bytes,
            "media_type": self.media_type,
            "title": self.title,
        }


class ContentFolder:
    """A folder of files named by what is in them.

    Args:
        root: The folder; made if it is not there.
        grace_s: Files that nobody may see are left alone so long, since they may be on their way to somebody.
    """

    def __init__(self, root: Path, grace_s: float = 3600.0) -> None:
        self._root = root
        self._incoming = root / "incoming"
        self._grace_s = grace_s
        if not self._incoming.is_dir():
            for name in _FOLDERS:
                (root / name).mkdir(parents=True, exist_ok=True, mode=0o700)
            self._incoming.mkdir(exist_ok=True, mode=0o700)
            _flush_folder(root)

    def begin(self, max_bytes: int | None = None) -> IncomingFile:
        """Return a new file to write to."""
        return IncomingFile(self, self._incoming / secrets.token_hex(12), max_bytes)

    def put_bytes(self, data: bytes) -> str:
        """Store a file and return its digest."""
        digest = "sha256:" + hashlib.sha256(data).hexdigest()
        if not self._is_safe_to_share(digest):
            with self.begin() as file:
                file.write(data)
                file.settle(digest)
        return digest

    def put_all(self, files: Mapping[str, bytes]) -> dict[str, str]:
        """Store several files, flushing them side by side, and return their digests by the same names."""
        if len(files) < 2:
            return {name: self.put_bytes(data) for name, data in files.items()}
        with ThreadPoolExecutor(min(_FLUSHES_AT_ONCE, len(files))) as pool:
            return dict(zip(files, pool.map(self.put_bytes, files.values()), strict=True))

    def path(self, digest: str) -> Path:
        """Return where the content with this digest lies, or would lie.

        Raises:
            ValueError: This is no digest.
        """
        if not DIGEST.fullmatch(digest):
            raise ValueError("not a digest")
        name = digest.removeprefix("sha256:")
        return self._root / name[:2] / name

    def has(self, digest: str) -> bool:
        """Return whether the content is here."""
        return self.path(digest).is_file()

    def open(self, digest: str) -> BinaryIO:
        """Open the content for reading.

        Raises:
            FileNotFoundError: It is not here.
        """
        return self.path(digest).open("rb")

    def read(self, digest: str) -> bytes:
        """Return the content.

        Raises:
            FileNotFoundError: It is not here.
        """
        return self.path(digest).read_bytes()

    def old_files(self, folder: int) -> Iterator[str]:
        """Yield the digests in one of the 256 folders that have lain longer than the grace."""
        before = time.time() - self._grace_s
        for entry in os.scandir(self._root / _FOLDERS[folder]):
            if entry.stat().st_mtime < before:
                yield "sha256:" + entry.name

    def remove_old(self, digest: str) -> bool:
        """Remove content that nobody may see, unless it has come in anew meanwhile."""
        path = self.path(digest)
        aside = self._incoming / secrets.token_hex(12)
        try:
            path.rename(aside)
        except FileNotFoundError:
            return False
        if aside.stat().st_mtime > time.time() - self._grace_s:
            aside.rename(path)
            return False
        aside.unlink()
        return True

    def remove_abandoned(self) -> None:
        """Remove incoming files that were left behind by processes that died."""
        before = time.time() - max(self._grace_s, 3600.0)
        for entry in os.scandir(self._incoming):
            with contextlib.suppress(FileNotFoundError):
                if entry.stat().st_mtime < before:
                    Path(entry.path).unlink()

    def _is_safe_to_share(self, digest: str) -> bool:
        """Whether the content is here, and new enough not to be removed before somebody is let in."""
        try:
            age_s = time.time() - self.path(digest).stat().st_mtime
        except FileNotFoundError:
            return False
        return age_s < self._grace_s / 2


class IncomingFile:
    """A file on its way in. Leave it by ``settle`` or ``abort``."""

    def __init__(self, folder: ContentFolder, path: Path, max_bytes: int | None) -> None:
        self._folder = folder
        self._path = path
        self._max_bytes = max_bytes
        self._hash = hashlib.sha256()
        self._file = os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb")
        self.size_bytes = 0

    def write(self, chunk: bytes) -> None:
        """Append.

        Raises:
            Refusal: body-too-large.
        """
        self.size_bytes += len(chunk)
        if self._max_bytes is not None and self.size_bytes > self._max_bytes:
            self.abort()
            raise Refusal(_too_large(self._max_bytes))
        self._hash.update(chunk)
        self._file.write(chunk)

    def settle(self, expected_digest: str | None = None) -> str:
        """Flush the file to the disk, give it its name, and return its digest.

        Raises:
            Refusal: digest-mismatch.
        """
        digest = "sha256:" + self._hash.hexdigest()
        if expected_digest not in (None, digest):
            self.abort()
            raise Refusal(_mismatch())
        self._file.flush()
        os.fchmod(self._file.fileno(), 0o400)
        os.fsync(self._file.fileno())
        self._file.close()
        path = self._folder.path(digest)
        self._path.rename(path)
        _flush_folder(path.parent)
        return digest

    def abort(self) -> None:
        """Forget what was written."""
        self._file.close()
        self._path.unlink(missing_ok=True)

    def __enter__(self) -> IncomingFile:
        return self

    def __exit__(self, *exception: object) -> None:
        self.abort()


def _flush_folder(path: Path) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _too_large(max_bytes: int) -> Any:
    return problem(
        ProblemCode.BODY_TOO_LARGE,
        f"the file is larger than the {max_bytes} bytes that are taken here",
        remedy="send a smaller file",
    )


def _mismatch() -> Any:
    return problem(
        ProblemCode.DIGEST_MISMATCH,
        "the content is not what its digest says",
        remedy="send the file again; if that does not help, check how the digest is made",
    )
