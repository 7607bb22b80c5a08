"""Files and who may see them."""

from __future__ import annotations

import pytest

from schemas.problems import ProblemCode, Refusal
from workers.queueing.service import Service

ABC = "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"  # FIPS 180-4's example


def _refused(look: object, *arguments: object) -> ProblemCode:
    with pytest.raises(Refusal) as refusal:
        look(*arguments)
    return refusal.value.document.code


def test_an_upload_becomes_the_owners_file(service: Service) -> None:
    """With what was found out about it."""
    with service.artifacts.begin(max_bytes=10) as upload:
        upload.write(b"ab")
        upload.write(b"c")
        record = upload.commit(owner="ada", media_type="image/png", title="tern.png")

    assert record.digest == ABC
    assert (record.size_bytes, record.media_type, record.title) == (3, "image/png", "tern.png")
    assert service.artifacts.stat(ABC, "ada") == record
    assert service.artifacts.path(ABC, "ada").read_bytes() == b"abc"
    with service.artifacts.open(ABC, "ada") as file:
        assert file.read() == b"abc"


def test_a_digest_opens_nothing_for_others(service: Service) -> None:
    """Knowing the address is not having the file."""
    service.artifacts.put([b"abc"], owner="ada", media_type="text/plain")

    for look in (
        service.artifacts.stat,
        service.artifacts.open,
        service.artifacts.path,
        service.artifacts.delete,
    ):
        assert _refused(look, ABC, "bob") is ProblemCode.NO_SUCH_ARTIFACT


@pytest.mark.parametrize("digest", ["", "sha256:", "../../etc/passwd", "sha256:" + 64 * "0"])
def test_what_is_no_file_of_ours_is_refused(service: Service, digest: str) -> None:
    """Malformed or unknown: one answer."""
    assert _refused(service.artifacts.stat, digest, "ada") is ProblemCode.NO_SUCH_ARTIFACT
    assert _refused(service.artifacts.delete, digest, "ada") is ProblemCode.NO_SUCH_ARTIFACT


def test_the_same_content_of_two_owners_is_kept_until_both_let_go(service: Service) -> None:
    """Each has a record and an account of its own."""
    service.artifacts.put([b"abc"], owner="ada", media_type="text/plain", title="hers")
    service.artifacts.put([b"abc"], owner="bob", media_type="text/csv", title="his")

    service.artifacts.delete(ABC, "ada")

    assert service.artifacts.stat(ABC, "bob").title == "his"
    assert service.artifacts.path(ABC, "bob").read_bytes() == b"abc"
    assert (service.artifacts.stored_bytes("ada"), service.artifacts.stored_bytes("bob")) == (0, 3)


def test_storing_again_counts_once(service: Service) -> None:
    """The account is of files, not of uploads."""
    for _ in range(3):
        service.artifacts.put([b"abc"], owner="ada", media_type="text/plain")

    assert service.artifacts.stored_bytes("ada") == 3


def test_too_large_is_refused(service: Service) -> None:
    """While it comes in."""
    with pytest.raises(Refusal) as refusal:
        service.artifacts.put([b"ab", b"cd"], owner="ada", media_type="text/plain", max_bytes=3)

    assert refusal.value.document.code is ProblemCode.BODY_TOO_LARGE
    assert service.artifacts.stored_bytes("ada") == 0
