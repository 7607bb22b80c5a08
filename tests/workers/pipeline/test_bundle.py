"""The archive: complete, checkable, and the same bytes on any day."""

import hashlib
import io
import zipfile

from workers.pipeline.bundle import archive

FILES = {"proof.json": b"{}", "programs/01-incise-vee-90.ngc": b"M2\n", "preview.png": b"\x89PNG"}


def test_every_file_is_in_it_with_its_digest() -> None:
    """The MANIFEST has the line that sha256sum --check reads, for each file."""
    packed = zipfile.ZipFile(io.BytesIO(archive(FILES)))
    manifest = packed.read("MANIFEST").decode()
    assert set(packed.namelist()) == {*FILES, "MANIFEST"}
    for name, data in FILES.items():
        assert packed.read(name) == data
        assert f"{hashlib.sha256(data).hexdigest()}  {name}\n" in manifest


def test_order_and_day_do_not_show() -> None:
    """The same files give the same bytes, however they were collected."""
    assert archive(FILES) == archive(dict(reversed(FILES.items())))
