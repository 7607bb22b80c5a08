"""Is the ink read? Hundreds of random workshop photos: ``python -m tests.benchmarks.ink_campaign``.

The scenes are those of ``tests.support.photographed_scenes.workshop_recipe``: phones that sharpen, smooth and
pack hard, coloured paper, cutting mats, granite, figured wood and white tables, fingers on the sheet, another
sheet beside it. Each result is laid over what was drawn: ink farther than 1.2 mm from any that was read is
lost, ink read farther than that from any drawn is added; what things hide or the picture does not show does
not count.

*Right* is a photo with the sheet where the camera saw it (see ``sheet_campaign``) and no more than 3 mm2 lost
or added. What is worse is *warned* if a warning about the sheet or the ink says so, else *silent*.
"""

from __future__ import annotations

import collections
import dataclasses
import time
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.sheet_campaign import Outcome, classes, judged, read, turn_of
from tests.support.markdown_tables import command_line, deliver, table, tell
from tests.support.photographed_scenes import Recipe, Scene, scene, workshop_recipe
from workers.errors import ConversionError
from workers.rectification.rectify import Rectified
from workers.values.finding import Severity

Mask = NDArray[np.bool_]

MOST_MM2 = 3.0
OF_THE_INK = frozenset(
    (
        *("ink-at-the-rim", "thing-touches-drawing", "pencil-or-ink", "fine-lines-kept", "pale-ink"),
        *("crease", "crumpled", "glare", "over-exposed", "hard-shadow", "too-dark", "grainy", "blurred"),
    )
)
_NEAR_MM = 1.2
_HIDDEN_MM = 3.0  # beside things over the sheet: their shadows and halos


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class InkOutcome:
    """How one photo came out."""

    sheet: Outcome
    verdict: str  # right, warned, silent, refused, fair
    lost_mm2: float = float("nan")
    added_mm2: float = float("nan")
    warnings: tuple[str, ...] = ()


def ink_outcome(one: Scene, done: Rectified | ConversionError) -> InkOutcome:
    """Return how the reader did on a scene."""
    sheet = judged(one, done)
    if isinstance(done, ConversionError):
        return InkOutcome(sheet=sheet, verdict=sheet.verdict)
    told = {found.code for found in done.findings if found.severity is Severity.WARNING}
    lost, added = (np.nan, np.nan) if done.sheet is None else lost_and_added_mm2(one, done)
    all_read = max(lost, added) <= MOST_MM2
    is_told = sheet.verdict == "warned" or (sheet.verdict == "right" and told & OF_THE_INK)
    return InkOutcome(
        sheet=sheet,
        verdict="right" if sheet.verdict == "right" and all_read else "warned" if is_told else "silent",
        lost_mm2=lost,
        added_mm2=added,
        warnings=tuple(sorted(told)),
    )


def lost_and_added_mm2(one: Scene, done: Rectified) -> tuple[float, float]:
    """Return how much of what was drawn is not there, and how much is there that was not drawn."""
    assert done.sheet is not None
    assert one.ink is not None
    assert one.covered is not None
    read_ink = np.asarray(done.coverage.pixels) < 128
    px_per_mm = 1 / done.coverage.mm_per_px
    turn = turn_of(one, done.sheet)
    drawn = _laid(np.asarray(one.ink < 0.5), turn, read_ink.shape)
    hidden = _laid(one.covered, turn, read_ink.shape) | ~_seen(done, read_ink.shape)
    counted = _away_from(hidden, _HIDDEN_MM * px_per_mm)
    lost = drawn & counted & _away_from(read_ink, _NEAR_MM * px_per_mm)
    added = read_ink & counted & _away_from(drawn, _NEAR_MM * px_per_mm)
    return float(lost.sum() / px_per_mm**2), float(added.sum() / px_per_mm**2)


def _laid(mask: Mask, turn: int, shape: tuple[int, ...]) -> Mask:
    """Return a mask of the scene's sheet as the finder's sheet lies."""
    turned = np.ascontiguousarray(np.rot90(mask, turn)).astype(np.float32)
    return np.asarray(cv2.resize(turned, shape[::-1], interpolation=cv2.INTER_LINEAR) >= 0.5)


def _seen(done: Rectified, shape: tuple[int, ...]) -> Mask:
    """Return which pixels of the result the picture shows, by the finder's own surface, every eighth."""
    assert done.sheet is not None
    scale = done.coverage.mm_per_px
    x, y = np.meshgrid(np.arange(0, shape[1], 8) * scale, np.arange(0, shape[0], 8) * scale)
    surface = done.sheet.surface
    seen = surface.seen_px(np.column_stack([x.ravel(), y.ravel()])).reshape(*x.shape, 2)
    inside = ((seen > 0) & (seen < surface.frame_px)).all(axis=-1)
    return np.asarray(cv2.resize(inside.astype(np.uint8), shape[::-1]) > 0)


def _away_from(mask: Mask, reach_px: float) -> Mask:
    """Return what is farther from a mask than so much."""
    if not mask.any():
        return np.ones(mask.shape, np.bool_)
    return np.asarray(cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5) > reach_px)


def workshop_classes(made: Recipe) -> list[str]:
    """Return the classes a scene belongs to."""
    found = classes(made)
    found += ["paper: coloured"] if made.paper[0] != made.paper[2] else []
    found += ["beside: another sheet"] if made.beside else []
    return found + (["phone: sharpened"] if made.phone.sharpened else [])


def report(outcomes: Sequence[InkOutcome]) -> str:
    """Return the tables."""
    counts: dict[str, collections.Counter[str]] = collections.defaultdict(collections.Counter)
    for one in outcomes:
        for name in ("all", *workshop_classes(one.sheet.made)):
            counts[name][one.verdict] += 1
    verdicts = ("right", "warned", "silent", "refused", "fair")
    names = sorted(counts, key=lambda name: (name != "all", name))
    rows = [(name, counts[name].total(), *(counts[name][verdict] for verdict in verdicts)) for name in names]
    poor = [_told(one) for one in outcomes if one.verdict not in ("right", "fair")]
    headings = (
        "photo",
        "verdict",
        "sheet",
        "lost mm2",
        "added mm2",
        "worst mm",
        "scale %",
        "told",
        "classes",
    )
    return f"{table(('class', 'photos', *verdicts), rows)}\n{table(headings, poor)}"


def _told(one: InkOutcome) -> tuple[object, ...]:
    return (
        one.sheet.made.number,
        one.verdict,
        one.sheet.verdict,
        f"{one.lost_mm2:.1f}",
        f"{one.added_mm2:.1f}",
        f"{one.sheet.worst_mm:.2f}",
        f"{100 * one.sheet.scale_error:.2f}",
        ", ".join(one.warnings) or one.sheet.refusal,
        "; ".join(workshop_classes(one.sheet.made)),
    )


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--count", type=int, default=100, help="how many photos (100)")
    parser.add_argument("--first", type=int, default=0, help="number of the first (0)")
    parser.add_argument("--photos", type=Path, metavar="FOLDER", help="keep those that are not right here")
    asked = parser.parse_args(arguments)
    outcomes = []
    started_s = time.monotonic()
    for number in range(asked.first, asked.first + asked.count):
        one = scene(workshop_recipe(number))
        outcomes.append(ink_outcome(one, read(one)))
        tell(f"{_told(outcomes[-1])} {time.monotonic() - started_s:.0f} s")
        if asked.photos and outcomes[-1].verdict not in ("right", "fair"):
            asked.photos.mkdir(parents=True, exist_ok=True)
            (asked.photos / f"{number}.jpg").write_bytes(one.jpeg)
    deliver("Ink read in random workshop photos", report(outcomes), asked.out)


if __name__ == "__main__":
    main()
