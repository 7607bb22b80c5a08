"""Links to files: uploaded before, or beside the request on the command line."""

import re
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from schemas.base import WireModel
from schemas.bits import Bit

DIGEST = re.compile(r"sha256:[0-9a-f]{64}")  # for fullmatch, as the next
ARTIFACT_HREF = re.compile(r"/artifacts/(sha256:[0-9a-f]{64})")


class Link(WireModel):
    """A file. Over REST: the href that ``POST /artifacts`` answered."""

    href: Annotated[
        str,
        Field(
            min_length=1,
            max_length=1024,
            description="over REST what POST /artifacts answered; on the command line a file's name",
            examples=["/artifacts/sha256:…"],
        ),
    ]
    type: Annotated[str | None, Field(max_length=128, description="media type")] = None


class ProgramLink(Link):
    """A program and its bit; or its bits by the numbers by which it changes them (T and M6)."""

    bit: Annotated[Bit | None, Field(description="the one bit it is written for")] = None
    bits: Annotated[
        dict[int, Bit] | None,
        Field(min_length=1, max_length=32, description="its bits by their numbers, T, if it changes them"),
    ] = None
    name: Annotated[str | None, Field(max_length=128, description="what reports call it")] = None
    side: Annotated[
        Literal["back"] | None,
        Field(
            description="back: run with the board turned over sideways, like a page; x, y from the corner "
            "that is lower left then, z from its back. Left out: the face is up"
        ),
    ] = None

    @model_validator(mode="after")
    def _one_or_by_number(self) -> Self:
        if self.bit is None and self.bits is None:
            raise ValueError(
                "nothing says which bit it is for: give 'bit', or 'bits' by their numbers if it changes them"
            )
        if self.bit is not None and self.bits is not None:
            raise ValueError("'bit' and 'bits' are both given: keep 'bits' if the program changes them")
        if self.bits and min(self.bits) < 1:
            raise ValueError(
                "a bit with a number below 1: number bits as the program does, T0 is an empty spindle"
            )
        return self


def artifact_href(digest: str) -> str:
    """Return the href of the artifact with this digest (``sha256:`` and 64 hexadecimal digits)."""
    return f"/artifacts/{digest}"


class Work(WireModel):
    """What one bit does in a program of ours, and how it runs."""

    operation: str  # or several, which it does one after the other
    spindle_rpm: float  # the fastest
    feed_mm_per_min: float
    plunge_mm_per_min: float
    depth_mm: float


class NumberedWork(Work):
    """What a bit does in a program with several."""

    number: Annotated[int, Field(ge=1)]


class ProgramEntry(Work, ProgramLink):
    """A program of ours for one bit in its list."""

    bit: Bit


class SeveralBitsEntry(ProgramLink):
    """A program of ours that changes its bits, with what each of them does in turn."""

    bits: Annotated[dict[int, Bit], Field(min_length=1, max_length=32)]
    work: Annotated[list[NumberedWork], Field(min_length=1, max_length=32)]


class ProgramList(WireModel):
    """The file ``programs.json``: the programs of one sign in the order in which they run."""

    programs: Annotated[list[ProgramEntry | SeveralBitsEntry], Field(min_length=1, max_length=32)]
