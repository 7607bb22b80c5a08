"""Facts about a drawing, a design or a program, told with their place and remedy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Self


class Severity(StrEnum):
    """What a finding does to the job."""

    NOTE = "note"  # worth knowing
    WARNING = "warning"  # worth acting on
    ERROR = "error"  # nothing may be cut while it stands, unless the order waives it


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One coded fact; ``at_mm`` is its place in the frame of what was examined."""

    code: str
    severity: Severity
    message: str
    remedy: str
    at_mm: tuple[float, float] | None = None
    waived: str = ""  # the order's reason for letting an error pass

    @property
    def stops(self) -> bool:
        """Say whether nothing may be cut because of it."""
        return self.severity is Severity.ERROR and not self.waived

    def as_record(self) -> dict[str, Any]:
        """Return the finding as it stands in our JSON files, its place to a micrometre."""
        record = {
            "code": self.code,
            "severity": self.severity.value,
            "message": self.message,
            "remedy": self.remedy,
            "at": None if self.at_mm is None else [round(float(value), 3) + 0.0 for value in self.at_mm],
        }
        return record | ({"waived": self.waived} if self.waived else {})

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> Self:
        """Return a finding from what ``as_record`` made of it.

        Raises:
            KeyError, ValueError: It is no such record.
        """
        place = record.get("at")
        return cls(
            code=record["code"],
            severity=Severity(record["severity"]),
            message=record["message"],
            remedy=record["remedy"],
            at_mm=(place[0], place[1]) if place else None,
            waived=record.get("waived", ""),
        )
