"""Is the sheet found? Hundreds of random photos: ``python -m tests.benchmarks.sheet_campaign``.

The scenes are those of tests.support.photographed_scenes: dark and light tables, plain or with lines that
run near the sheet's sides, ruled and squared paper, other sheets beneath, hands, coins and pens over its
edges, shadows, tilt up to 35 degrees, wide lenses, curl, sheets turned any way or partly out of the
picture. Each is judged by the camera that took it: an even grid of the sheet's points, as far as the
picture shows them, is where the finder says, or is not.

A photo with few pixels to the mm is warned of as such: there 1 mm is a pixel or two.

*Right* is a photo of which no point is off by more than 1 mm and no length by more than 0.5 %. What is worse
is *warned* if a warning about the sheet says so, else *silent*. A refusal is *fair* where at least one whole
side of the sheet is out of the picture; else *refused* counts against the finder.
"""

from __future__ import annotations

import collections
import dataclasses
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.support.markdown_tables import command_line, deliver, table, tell
from tests.support.photographed_scenes import Recipe, Scene, recipe, scene, scene_camera
from workers.errors import ConversionError
from workers.intake.photo import decode_photo
from workers.rectification.found_sheet import FoundSheet
from workers.rectification.rectify import Rectified, rectify
from workers.values.finding import Severity
from workers.values.progress import silent
from workers.values.sheet import SheetSize

Array = NDArray[np.float64]

MOST_MM, MOST_SCALE = 1.0, 0.005
OF_THE_SHEET = frozenset(
    (
        "sheet-uncertain",
        "sheet-size-doubtful",
        "side-outside",
        "two-sides-outside",
        "corner-outside",
        "paper-fills-the-picture",
        "sheet-darker-than-table",
        "sheet-edges-uneven",
        "sheet-curled",
        "paper-beyond-a-side",
        "coarse-photo",
    )
)


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one photo came out."""

    made: Recipe
    verdict: str  # right, warned, silent, fair, refused
    worst_mm: float = float("nan")
    scale_error: float = float("nan")
    corner_mm: float = float("nan")
    warnings: tuple[str, ...] = ()
    refusal: str = ""
    score: float = float("nan")  # the finder's own
    residual_px: float = float("nan")  # of its sides from its surface


def read(one: Scene) -> Rectified | ConversionError:
    """Return what is read of a scene's photo, or why nothing is."""
    width_mm, height_mm = sorted(one.recipe.size_mm)
    photo = decode_photo(one.jpeg, "/photo")
    try:
        return rectify([photo], SheetSize(width_mm=width_mm, height_mm=height_mm), silent)
    except ConversionError as error:
        return error


def outcome(one: Scene) -> Outcome:
    """Return how the finder does on a scene."""
    return judged(one, read(one))


def judged(one: Scene, done: Rectified | ConversionError) -> Outcome:
    """Return how the finder did on a scene, by what was read."""
    made = one.recipe
    if isinstance(done, ConversionError):
        verdict = "fair" if made.framing not in ("whole", "corner") else "refused"
        return Outcome(made=made, verdict=verdict, refusal=f"{done.code}: {done.message}")
    told = {found.code for found in done.findings if found.severity is Severity.WARNING}
    warnings = tuple(sorted(told & OF_THE_SHEET))
    worst_mm, scale_error, corner_mm = _errors(one, done)
    good = worst_mm <= MOST_MM and scale_error <= MOST_SCALE
    verdict = "right" if good else "warned" if warnings else "silent"
    sheet = done.sheet
    return Outcome(
        made=made,
        verdict=verdict,
        worst_mm=worst_mm,
        scale_error=scale_error,
        corner_mm=corner_mm,
        warnings=warnings,
        score=sheet.rough.score if sheet else float("nan"),
        residual_px=sheet.surface.residual_px if sheet else float("nan"),
    )


def _errors(one: Scene, done: Rectified) -> tuple[float, float, float]:
    """Return the worst error of a place (mm), of a length (share) and of a corner (mm)."""
    if done.sheet is None:
        return float("inf"), float("inf"), float("inf")
    turn = turn_of(one, done.sheet)
    share = np.stack(np.meshgrid(np.linspace(0, 1, 11), np.linspace(0, 1, 11)), axis=-1).reshape(-1, 2)
    off_mm, own_mm, inside = _off_mm(one, done.sheet, turn, share)
    if inside.sum() < 10:
        return float("inf"), float("inf"), float("inf")
    affine = np.linalg.lstsq(
        np.column_stack([own_mm, np.ones(len(own_mm))])[inside], (own_mm + off_mm)[inside], rcond=None
    )[0]
    scales = np.linalg.svd(affine[:2])[1]
    told = np.sort([done.sheet.surface.width_mm, done.sheet.surface.height_mm])
    lying = np.array([done.sheet.surface.width_mm, done.sheet.surface.height_mm])[:: 1 - 2 * (turn % 2)]
    scale_error = max(
        np.abs(scales - 1).max(),
        np.abs(lying / one.recipe.size_mm - 1).max(),
        np.abs(told / np.sort(one.recipe.size_mm) - 1).max(),
    )
    corners = _off_mm(one, done.sheet, turn, np.array([(0.0, 0.0), (1, 0), (1, 1), (0, 1)]))
    corner_mm = np.linalg.norm(corners[0], axis=1)[corners[2]].max(initial=0.0)
    return float(np.linalg.norm(off_mm, axis=1)[inside].max()), float(scale_error), float(corner_mm)


def turn_of(one: Scene, sheet: FoundSheet) -> int:
    """Return by how many corners the finder's sheet is turned against the scene's."""
    true, found = one.corners_px(), sheet.surface.corners_px
    return min(range(4), key=lambda k: float(np.linalg.norm(np.roll(found, k, axis=0) - true, axis=1).sum()))


def _off_mm(one: Scene, sheet: FoundSheet, turn: int, share: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return how far off places of the sheet are found, where they are, and which the picture shows."""
    camera, size = one.camera, np.array(one.recipe.size_mm)
    own_mm = (share - 0.5) * size
    a, b = share[:, 0], share[:, 1]
    turned = np.stack([(a, b), (b, 1 - a), (1 - a, 1 - b), (1 - b, a)][turn], axis=1)
    seen = sheet.surface.seen_px(
        np.ascontiguousarray(turned * [sheet.surface.width_mm, sheet.surface.height_mm])
    )
    true = camera.seen(own_mm)
    step = 0.5
    jacobian = np.stack(
        [(camera.seen(own_mm + move) - camera.seen(own_mm - move)) / (2 * step) for move in np.eye(2) * step],
        axis=-1,
    )
    off_mm = np.linalg.solve(jacobian, (seen - true)[..., None])[..., 0]
    inside = ((true > 0) & (true < [camera.columns, camera.rows])).all(axis=1)
    return off_mm, own_mm, inside


def classes(made: Recipe) -> list[str]:
    """Return the classes a scene belongs to."""
    found = [
        f"framing: {made.framing}",
        f"table: {'light' if made.is_light else 'dark'} {made.table}",
        f"paper: {made.ruling}",
    ]
    found += [f"over it: {kind}" for kind in made.things]
    found += ["beneath: another sheet"] if made.beneath else []
    found += ["hard shadow"] if made.shadow else []
    found += ["tilt over 20 degrees"] if made.tilt_deg > 20 else []
    found += ["turned over 20 degrees"] if abs(made.roll_deg) > 20 else []
    found += ["lens bows over 5 %"] if abs(made.bow) > 0.05 else []
    found += ["curled over 1 mm"] if made.lift_mm > 1 else []
    return found + (["12 MP and more"] if made.megapixels >= 12 else [])


def report(outcomes: Sequence[Outcome]) -> str:
    """Return the tables."""
    rows: dict[str, list[Outcome]] = collections.defaultdict(list)
    for one in outcomes:
        for name in ("all", *classes(one.made)):
            rows[name].append(one)
    names = sorted(rows, key=lambda name: (name != "all", name))
    headings = (
        "class",
        "photos",
        "right",
        "warned",
        "silent",
        "refused",
        "fairly refused",
        "median mm",
        "95 % mm",
        "median scale %",
    )
    lines = [(name, len(rows[name]), *_counts(rows[name]), *_figures(rows[name])) for name in names]
    poor = [one for one in outcomes if one.verdict in ("silent", "refused", "warned")]
    listed = [
        (
            one.made.number,
            one.verdict,
            f"{one.worst_mm:.2f}",
            f"{100 * one.scale_error:.2f}",
            ", ".join(one.warnings) or one.refusal,
            "; ".join(classes(one.made)),
        )
        for one in poor
    ]
    details = table(("photo", "verdict", "worst mm", "scale %", "told", "classes"), listed)
    return f"{table(headings, lines)}\n{details}"


def _counts(group: Sequence[Outcome]) -> list[int]:
    counts = collections.Counter(one.verdict for one in group)
    return [counts[verdict] for verdict in ("right", "warned", "silent", "refused", "fair")]


def _figures(group: Sequence[Outcome]) -> list[str | None]:
    """Return the errors of those that came out right."""
    right = [one for one in group if one.verdict == "right"]
    if not right:
        return [None, None, None]
    worst = [one.worst_mm for one in right]
    scales = [100 * one.scale_error for one in right]
    return [f"{np.median(worst):.2f}", f"{np.percentile(worst, 95):.2f}", f"{np.median(scales):.3f}"]


def photographed(number: int, folder: Path | None) -> Scene:
    """Return a scene; its photo is kept in a folder, and taken from there if it is there."""
    kept = folder / f"{number}.jpg" if folder else None
    if kept is not None and kept.exists():
        made = recipe(number)
        return Scene(recipe=made, camera=scene_camera(made), jpeg=kept.read_bytes())
    one = scene(recipe(number))
    if kept is not None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(one.jpeg)
    return one


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--count", type=int, default=300, help="how many photos (300)")
    parser.add_argument("--first", type=int, default=0, help="number of the first (0)")
    parser.add_argument(
        "--photos", type=Path, metavar="FOLDER", help="keep the photos here, and take them from here"
    )
    asked = parser.parse_args(arguments)
    outcomes = []
    started_s = time.monotonic()
    for number in range(asked.first, asked.first + asked.count):
        one = outcome(photographed(number, asked.photos))
        outcomes.append(one)
        figures = f"{one.worst_mm:.2f} mm, {100 * one.scale_error:.2f} %, score {one.score:.2f}, "
        figures += f"residual {one.residual_px:.2f} px, {time.monotonic() - started_s:.0f} s"
        tell(f"{number} {one.verdict} {', '.join(one.warnings) or one.refusal} {figures}")
    deliver("Sheets found in random photos", report(outcomes), asked.out)


if __name__ == "__main__":
    main()
