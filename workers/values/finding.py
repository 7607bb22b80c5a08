"""Facts about a drawing, a design or a program, told with their place and remedy."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """What a finding does to the job."""

    NOTE = "note"  # worth knowing
    WARNING = "warning"  # worth acting on
    ERROR = "error"  # nothing may be cut while it stands


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One coded fact; ``at_mm`` is its place in the frame of what was examined."""

    code: str
    severity: Severity
    message: str
    remedy: str
    at_mm: tuple[float, float] | None = None
