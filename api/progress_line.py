"""Progress on standard error: one tidy line on a terminal, a few plain lines elsewhere."""

import sys
from typing import Self, TextIO

from api.client import TriglyphClient

_BAR = 24
_WIDTH = 78


class ProgressLine:
    """Shows how far work is; serves as a reporter, and as a context that ends the line.

    Args:
        out: Where to; standard error if not given.
    """

    def __init__(self, out: TextIO | None = None) -> None:
        self._out = out or sys.stderr
        self._on_terminal = self._out.isatty()
        self._shown = ""
        self._open = False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __call__(self, fraction: float, message: str) -> None:
        """Show that this share is done, and what is being done."""
        percent = round(100 * min(1.0, max(0.0, fraction)))
        if self._on_terminal:
            done = round(_BAR * percent / 100)
            line = f"[{'=' * done}{' ' * (_BAR - done)}] {percent:3d} %  {message}"[:_WIDTH]
            if line != self._shown:
                self._out.write("\r" + line.ljust(_WIDTH))
                self._out.flush()
                self._open = True
            self._shown = line
        elif (topic := message.partition(":")[0]) != self._shown:  # one line a step, not one a moment
            self._out.write(f"{percent:3d} %  {message}\n")
            self._out.flush()
            self._shown = topic

    def close(self) -> None:
        """End the line, so that what follows stands below it."""
        if self._open:
            self._out.write("\n")
            self._out.flush()
            self._open = False


def show_job(client: TriglyphClient, job_id: str) -> None:
    """Show how far a job of a service is, until it has ended."""
    with ProgressLine() as report:
        for update in client.follow(job_id):
            report(update.progress / 100, update.message or update.status.value)
