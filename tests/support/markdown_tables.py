"""Measured figures as Markdown, and the one option of every benchmark's command line."""

from __future__ import annotations

import argparse
import platform
import subprocess
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path


def table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a Markdown table; None stands as a dash."""
    lines = [f"| {' | '.join(headings)} |", f"|{' --- |' * len(headings)}"]
    lines += [f"| {' | '.join('-' if cell is None else str(cell) for cell in row)} |" for row in rows]
    return "\n".join(lines) + "\n"


def command_line(description: str) -> argparse.ArgumentParser:
    """Return a parser that knows ``--out``."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--out", type=Path, metavar="FILE.md", help="write the figures here as well")
    return parser


def deliver(title: str, body: str, out: Path | None) -> None:
    """Print the figures under a title that says what they were measured on, and write them to ``out``."""
    text = f"# {title}\n\nMeasured on {measured_on()}.\n\n{body}"
    sys.stdout.write(text)
    if out is not None:
        out.write_text(text, encoding="utf-8")


def measured_on() -> str:
    """Return the commit, with a mark if the working tree has changes, and the kind of machine."""
    return f"{_commit()}, Python {platform.python_version()}, {platform.machine()}"


def tell(text: str) -> None:
    """Say on the error stream how far the benchmark is."""
    sys.stderr.write(text + "\n")


def _commit() -> str:
    command = ["git", "-C", str(Path(__file__).parent), "describe", "--always", "--dirty"]
    found = subprocess.run(command, capture_output=True, text=True, check=False)
    return f"commit {found.stdout.strip()}" if found.returncode == 0 else "an installation without history"
