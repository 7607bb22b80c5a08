"""How a stage says how far it is."""

from __future__ import annotations

from typing import Protocol


class Reporter(Protocol):
    """Told by a stage, often; raises JobDismissed when the job is no longer wanted."""

    def __call__(self, fraction: float, message: str) -> None:
        """Say that ``fraction`` (0..1) of this step is done, and what is being done."""


def silent(fraction: float, message: str) -> None:
    """Report to nobody."""


def partly(report: Reporter, start: float, end: float) -> Reporter:
    """Return a reporter whose 0 to 1 is a stretch of another's."""

    def told(fraction: float, message: str) -> None:
        report(start + (end - start) * fraction, message)

    return told
