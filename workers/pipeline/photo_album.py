"""The photos of a request, each decoded when it is looked at: eight at once would fill the memory."""

from __future__ import annotations

from collections.abc import Sequence
from typing import overload

from schemas.links import Link
from workers.intake.photo import decode_photo
from workers.pipeline.outcome import Read
from workers.values.image import ColourImage


class PhotoAlbum(Sequence[ColourImage]):
    """Photos behind links; the one looked at last is kept."""

    def __init__(self, links: Sequence[Link], read: Read, pointer: str) -> None:
        self._links, self._read, self._pointer = links, read, pointer
        self._number: int | None = None
        self._photo: ColourImage | None = None

    def __len__(self) -> int:
        return len(self._links)

    @overload
    def __getitem__(self, number: int) -> ColourImage: ...
    @overload
    def __getitem__(self, number: slice) -> Sequence[ColourImage]: ...
    def __getitem__(self, number: int | slice) -> ColourImage | Sequence[ColourImage]:
        if isinstance(number, slice):
            raise TypeError("photos are looked at one by one")
        if number >= len(self._links):
            raise IndexError(number)
        if self._photo is None or number != self._number:
            self._photo = None  # goes before the next comes
            self._photo = decode_photo(self._read(self._links[number].href), f"{self._pointer}/{number}")
            self._number = number
        return self._photo
