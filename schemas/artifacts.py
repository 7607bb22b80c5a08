"""What is known about a stored file besides its content."""

from datetime import datetime

from schemas.base import WireModel


class ArtifactRecord(WireModel):
    """A file as one owner knows it; the same content may have other records for other owners."""

    digest: str  # "sha256:" and 64 hexadecimal digits: the address
    size_bytes: int
    media_type: str
    title: str = ""
    created: datetime
    until: datetime  # erased some time after
