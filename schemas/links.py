"""Links to files: uploaded before, or beside the request on the command line."""

import re
from typing import Annotated

from pydantic import Field

from schemas.base import WireModel
from schemas.bits import Bit

DIGEST = re.compile(r"sha256:[0-9a-f]{64}")  # for fullmatch, as the next
ARTIFACT_HREF = re.compile(r"/artifacts/(sha256:[0-9a-f]{64})")


class Link(WireModel):
    """A file. Over REST: the href that ``POST /artifacts`` answered."""

    href: Annotated[str, Field(min_length=1, max_length=1024, examples=["/artifacts/sha256:…"])]
    type: Annotated[str | None, Field(max_length=128, description="media type")] = None


class ProgramLink(Link):
    """A program and the bit that runs it."""

    bit: Bit
    name: Annotated[str | None, Field(max_length=128)] = None


def artifact_href(digest: str) -> str:
    """Return the href of the artifact with this digest (``sha256:`` and 64 hexadecimal digits)."""
    return f"/artifacts/{digest}"


class ProgramEntry(ProgramLink):
    """A program of ours in its list: what it is for and how it runs."""

    operation: str
    spindle_rpm: float
    feed_mm_per_min: float
    plunge_mm_per_min: float
    depth_mm: float


class ProgramList(WireModel):
    """The file ``programs.json``: the programs of one sign in the order in which they run."""

    programs: Annotated[list[ProgramEntry], Field(min_length=1, max_length=32)]
