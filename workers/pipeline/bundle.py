"""The archive that leaves the house: fixed names, fixed stamps, digests of everything."""

from __future__ import annotations

import hashlib
import io
import zipfile

_STAMP = (1980, 1, 1, 0, 0, 0)  # the earliest a ZIP can say: the same order gives the same bytes on any day
_MODE = 0o644 << 16


def archive(files: dict[str, bytes]) -> bytes:
    """Return a ZIP of the files and a MANIFEST of their SHA-256 digests.

    The MANIFEST has a line for each file, ``digest  name``, as ``sha256sum --check`` reads it.

    Source: APPNOTE 6.3.10 (ZIP); the checksum line format is that of GNU coreutils.
    """
    listed = "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as target:
        for name, data in [*sorted(files.items()), ("MANIFEST", listed.encode())]:
            member = zipfile.ZipInfo(name, _STAMP)
            member.external_attr = _MODE
            member.compress_type = zipfile.ZIP_STORED if name.endswith(".png") else zipfile.ZIP_DEFLATED
            target.writestr(member, data)
    return packed.getvalue()
