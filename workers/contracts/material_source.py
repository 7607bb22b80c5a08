"""Materials: rows for the table of boards. Entry-point group ``triglyph.materials``."""

from collections.abc import Iterable
from typing import Protocol

from workers.values.material import Material


class MaterialSource(Protocol):
    """Knows materials beyond the built-in table."""

    plugin_api: int
    name: str
    summary: str

    def materials(self) -> Iterable[Material]:
        """Return the materials, each named once."""
