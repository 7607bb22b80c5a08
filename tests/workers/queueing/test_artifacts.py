"""Files by their content."""

import hashlib
import os
import stat
import time
from pathlib import Path

import pytest

from schemas.problems import ProblemCode, Refusal
from workers.queueing.artifacts import ContentFolder

# FIPS 180-4, example of the SHA-256 of "abc" (NIST's published example values).
ABC = "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.fixture
def folder(tmp_path: Path) -> ContentFolder:
    """A folder that keeps for 100 s what nobody needs."""
    return ContentFolder(tmp_path / "artifacts", grace_s=100.0)


def _age(path: Path, seconds: float) -> None:
    then = time.time() - seconds
    path.chmod(0o600)
    os.utime(path, (then, then))


def test_the_address_is_the_digest_of_the_content(folder: ContentFolder) -> None:
    """Against the example value of the standard."""
    assert folder.put_bytes(b"abc") == ABC
    assert folder.read(ABC) == b"abc"


def test_a_stored_file_cannot_be_written(folder: ContentFolder) -> None:
    """Content stands for its digest as long as it lies there."""
    folder.put_bytes(b"abc")

    assert stat.S_IMODE(folder.path(ABC).stat().st_mode) == 0o400


def test_chunks_give_the_same_file_as_the_whole(folder: ContentFolder) -> None:
    """However it comes in."""
    with folder.begin() as file:
        for chunk in (b"a", b"", b"bc"):
            file.write(chunk)
        assert file.settle() == ABC


def test_a_file_over_the_cap_is_refused_and_leaves_nothing(folder: ContentFolder, tmp_path: Path) -> None:
    """The cap counts bytes as they come, whatever was announced."""
    with folder.begin(max_bytes=4) as file:
        file.write(b"1234")
        with pytest.raises(Refusal) as refusal:
            file.write(b"5")

    assert refusal.value.document.code is ProblemCode.BODY_TOO_LARGE
    assert list((tmp_path / "artifacts" / "incoming").iterdir()) == []


def test_a_wrong_digest_is_refused_and_leaves_nothing(folder: ContentFolder, tmp_path: Path) -> None:
    """The sender's own digest is checked before the file gets its name."""
    with folder.begin() as file:
        file.write(b"abd")
        with pytest.raises(Refusal) as refusal:
            file.settle(expected_digest=ABC)

    assert refusal.value.document.code is ProblemCode.DIGEST_MISMATCH
    assert not folder.has(ABC)
    assert list((tmp_path / "artifacts" / "incoming").iterdir()) == []


def test_an_upload_that_is_left_leaves_nothing(folder: ContentFolder, tmp_path: Path) -> None:
    """A broken connection costs no disk."""
    with folder.begin() as file:
        file.write(b"half of it")

    assert list((tmp_path / "artifacts" / "incoming").iterdir()) == []


def test_several_files_come_back_under_their_names(folder: ContentFolder) -> None:
    """Flushed side by side, none mistaken for another."""
    files = {f"file {number}": os.urandom(1000) for number in range(20)}

    digests = folder.put_all(files)

    assert {name: folder.read(digest) for name, digest in digests.items()} == files
    assert digests == {name: "sha256:" + hashlib.sha256(data).hexdigest() for name, data in files.items()}


@pytest.mark.parametrize("name", ["", "abc", "sha256:..", "sha256:" + "A" * 64, "../" + ABC, ABC + "\n"])
def test_what_is_no_digest_leads_nowhere(folder: ContentFolder, name: str) -> None:
    """No path can be smuggled in."""
    with pytest.raises(ValueError, match="not a digest"):
        folder.path(name)


def test_old_content_is_found_and_removed(folder: ContentFolder) -> None:
    """Only what has lain longer than the grace."""
    folder.put_bytes(b"abc")
    assert list(folder.old_files(0xBA)) == []

    _age(folder.path(ABC), 101.0)

    assert list(folder.old_files(0xBA)) == [ABC]
    assert folder.remove_old(ABC)
    assert not folder.has(ABC)


def test_content_that_came_in_anew_is_not_removed(folder: ContentFolder) -> None:
    """Between finding and removing, somebody may have stored it again."""
    folder.put_bytes(b"abc")

    assert not folder.remove_old(ABC)
    assert folder.read(ABC) == b"abc"


def test_storing_old_content_makes_it_new(folder: ContentFolder) -> None:
    """Else it could be swept away before its new owner is let in."""
    folder.put_bytes(b"abc")
    _age(folder.path(ABC), 60.0)

    folder.put_bytes(b"abc")

    assert time.time() - folder.path(ABC).stat().st_mtime < 30.0
