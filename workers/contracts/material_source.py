"""Materials: rows for the table of boards. Entry-point group ``triglyph.materials``."""

from collections.abc import Iterable
from typing import Protocol

from workers.contracts.plugin import Plugin
from workers.values.material import Material


class MaterialSource(Plugin, Protocol):
    """Knows materials beyond the built-in table."""

    def materials(self) -> Iterable[Material]:
        """Return the materials, each named once."""
