"""What this installation offers, for those who may not load the computing themselves."""

from __future__ import annotations

from typing import Any

from workers.registry import offers


def capabilities() -> dict[str, Any]:
    """Return all that may be named in a request, as JSON: ``bits``, ``materials`` ... lists of rows."""
    return offers.capabilities()
