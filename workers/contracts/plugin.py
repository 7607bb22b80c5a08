"""What every plug-in that is an object with a method says of itself."""

from typing import Protocol


class Plugin(Protocol):
    """An object that an entry point leads to, listed by name."""

    @property
    def plugin_api(self) -> int:
        """The contract it speaks."""

    @property
    def name(self) -> str:
        """What an order calls it."""

    @property
    def summary(self) -> str:
        """One line for listings."""
