"""From photo to outlines, scored against the truth: ``python -m tests.benchmarks.outline_scores``.

Every picture of the development data goes through intake and tracing as an order would send it, the sheet's
size told. The data's own tool scores art.svg where it lies. The baseline's figures and the bars are read from
the data's BASELINE.md. A refused photo counts as an overlap of 0.

A result is *poor* where it misses the floor that BASELINE.md sets for the worst drawing, and corners are
*wrong* where the worst is off by over 1 % of the sheet's diagonal; either is *silent* if the report holds no
warning.
"""

from __future__ import annotations

import argparse
import re
import statistics
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.support.development_data import (
    DATA,
    KINDS,
    Case,
    cases,
    read_art,
    reader_name,
    scoring_tool,
    true_ink,
)
from tests.support.markdown_reading import table_with
from tests.support.markdown_tables import command_line, deliver, table, tell
from workers.errors import ConversionError
from workers.intake.photo import decode_photo
from workers.rectification.rectify import rectify
from workers.tracing.art_file import write_art
from workers.tracing.edge_tracer import EDGE_TRACER
from workers.values.finding import Severity
from workers.values.progress import silent
from workers.values.sheet import SheetSize

TOLERANCE_MM = 0.02
WRONG_CORNER_SHARE = 0.01
BASELINE = DATA / "BASELINE.md"


@dataclass(frozen=True)
class Score:
    """How one picture came out."""

    case: Case
    iou: float = 0.0
    p95_mm: float = float("inf")
    errors_count: int | None = None  # of topology
    corner_share: float | None = (
        None  # the worst corner's miss, of the diagonal; None: not asked or not found
    )
    findings: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    refusal: str = ""

    @property
    def has_wrong_corners(self) -> bool:
        """Whether corners were given out, and one is off by more than 1 % of the diagonal."""
        return self.corner_share is not None and self.corner_share > WRONG_CORNER_SHARE

    @property
    def is_silent(self) -> bool:
        """Whether neither a refusal nor a warning tells that something may be wrong."""
        return not self.refusal and not self.warnings


def scored(case: Case, folder: Path) -> Score:
    """Return how one picture of the development data comes out."""
    width_mm, height_mm = case.sheet_mm
    hint = SheetSize(width_mm=width_mm, height_mm=height_mm)
    try:
        photo = decode_photo(case.picture.read_bytes(), "/photo")
        read = rectify([photo], hint, silent)
        art = write_art(EDGE_TRACER.trace(read.coverage, TOLERANCE_MM, silent).outlines)
    except ConversionError as error:
        return Score(case, refusal=f"{error.code}: {error.message}")
    figures = scoring_tool().score(read_art(art, folder), true_ink(case), ("none",))["none"]
    return Score(
        case,
        iou=figures["area"]["iou"],
        p95_mm=figures["boundary"].get("p95_mm", float("inf")),
        errors_count=figures["topology"]["errors"],
        corner_share=_corner_share(read.record.get("corners_px"), case),
        findings=tuple(found.code for found in read.findings),
        warnings=tuple(found.code for found in read.findings if found.severity is not Severity.NOTE),
    )


def _corner_share(corners_px: object, case: Case) -> float | None:
    if corners_px is None or "corners_px" not in case.record:
        return None
    return float(scoring_tool().corner_figures(np.array(corners_px), case.record)["max_share_of_diagonal"])


def floors() -> dict[str, float]:
    """Return the least overlap of each kind, out of the sentence on the worst drawing."""
    sentence = re.search(r"Worst drawing: never below (.*?), unless", BASELINE.read_text(), re.S)
    if sentence is None:
        raise LookupError("BASELINE.md no longer says how bad the worst drawing may be")
    found: dict[str, float] = {}
    for figure, kinds in re.findall(r"([\d.]+) \(([^)]*)\)", sentence.group(1)):
        found |= {kind if kind == "scan" else f"s{kind}": float(figure) for kind in kinds.split(", ")}
    return found


def row_of(rows: list[dict[str, str]], kind: str) -> dict[str, str]:
    """Return the row of one kind of pictures; empty if there is none."""
    return next(
        (row for row in rows if row["severity"].startswith(kind.removeprefix("s" * (kind != "scan")))), {}
    )


def summary(scores: Sequence[Score], kind: str) -> list[list[object]]:
    """Return the rows of one kind: ours, the baseline with its threshold chosen by the truth, and the bar."""
    oracle = row_of(table_with(BASELINE, "severity", "IoU as it lies", "worst", "cases without"), kind)
    corners = row_of(table_with(BASELINE, "severity", "none found"), kind)
    bar = row_of(table_with(BASELINE, "severity", "IoU", "wrong sheet corners"), kind)
    floor = floors()[kind]
    worst = min(scores, key=lambda score: score.iou)
    poor = [score for score in scores if score.iou < floor]
    wrong = [score for score in scores if score.has_wrong_corners]
    aligned_p95 = oracle["boundary mean / p95 / p99 mm, aligned"].split("/")[1].strip()
    ours = [
        kind,
        "Triglyph",
        f"{statistics.median(score.iou for score in scores):.4f}",
        f"{statistics.median(score.p95_mm for score in scores):.3f}",
        f"{sum(score.errors_count == 0 for score in scores)} of {len(scores)}",
        f"{worst.iou:.3f} ({worst.case.name})",
        len(poor),
        sum(score.is_silent for score in poor),
        len(wrong),
        sum(score.is_silent for score in wrong),
        sum(bool(score.refusal) for score in scores),
    ]
    baseline = [
        "",
        "baseline, its threshold chosen by the truth",
        oracle["IoU as it lies"],
        f"{aligned_p95} (aligned)",
        oracle["cases without"],
        f"{oracle['worst']} (aligned)",
        *(None, None),
        corners.get("wrong"),
        corners.get("wrong"),
        corners.get("none found"),
    ]
    sound, wanted = bar["drawings without a topology error"], bar["wrong sheet corners"]
    bars = ["", "bar", bar["IoU"], bar["boundary p95 mm"], sound, floor, None, 0, wanted, 0, None]
    return [ours, baseline, bars]


HEADINGS = (
    "pictures", "route", "IoU, median", "boundary p95 mm, median", "without topology error", "worst IoU",
    "poor", "poor and silent", "wrong corners", "wrong and silent", "refused",
)  # fmt: skip


def details(scores: Iterable[Score]) -> str:
    """Return a row for each picture."""
    rows = [
        [
            f"{score.case.name}.{score.case.kind}",
            f"{score.iou:.4f}",
            f"{score.p95_mm:.3f}",
            score.errors_count,
            None if score.corner_share is None else f"{100 * score.corner_share:.2f} %",
            score.refusal or ", ".join(score.findings) or None,
        ]
        for score in scores
    ]
    headings = ("picture", "IoU", "boundary p95 mm", "topology errors", "worst corner", "findings")
    return table(headings, rows)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser: argparse.ArgumentParser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--only", nargs="+", choices=KINDS, default=KINDS, help="kinds of pictures")
    parser.add_argument("--drawings", nargs="+", metavar="NAME", help="drawings; all if not given")
    asked = parser.parse_args(arguments)
    if not BASELINE.exists():
        parser.exit(message="The development data is not beside this checkout: nothing to measure.\n")
    rows, every = [], []
    with tempfile.TemporaryDirectory() as folder:
        for kind in asked.only:
            chosen = [case for case in cases(kind) if not asked.drawings or case.name in asked.drawings]
            scores = []
            for case in chosen:
                scores.append(scored(case, Path(folder)))
                tell(f"{case.name}.{kind}: {scores[-1].iou:.4f} {scores[-1].refusal}")
            rows += summary(scores, kind)
            every += scores
    text = f"art.svg is read by {reader_name()}; tracing tolerance {TOLERANCE_MM} mm.\n\n"
    deliver("Outlines against the truth", text + table(HEADINGS, rows) + "\n" + details(every), asked.out)


if __name__ == "__main__":
    main()
