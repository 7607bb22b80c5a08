"""Ink told from paper, by public measures: ``python -m tests.benchmarks.binarisation``.

For each picture of the development data the truth's polygons are drawn at the scale of our ink coverage, a
pixel being ink where at least half of it is covered, and compared with the coverage taken at 127.5. So the
truth is made by a generator, not marked by hand: the vector outlines that the simulated marker inked, to
which camera, light, paper and pencil were added. It holds no doubtful pixels, as hand-marked documents do.

Beside ours stand three general routes: Otsu's threshold and the Gaussian adaptive threshold of OpenCV (a
window of 15 mm, 10 values under its mean), and Sauvola's, m (1 + k (s / R - 1)) with k 0.2, R 128 and the
same window (Pattern Recognition 33, 2000). They are given what ours must find: their photo is laid square
by the *true* homography and curl of the record. F is in percent; a lower DRD is better. A photo that intake
refuses is left out of all routes and counted.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.support.binarisation_scores import Ink, drd, psnr_db, recall_precision_f
from tests.support.development_data import DATA, KINDS, Case, cases, true_ink
from tests.support.exact_coverage import covered
from tests.support.markdown_tables import command_line, deliver, table, tell
from workers.errors import ConversionError
from workers.intake.photo import decode_photo
from workers.rectification.rectify import rectify
from workers.values.image import InkCoverage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

HALF = 127.5
WINDOW_MM = 15.0
ADAPTIVE_BELOW = 10.0
SAUVOLA_K, SAUVOLA_R = 0.2, 128.0
OURS = "Triglyph"

Grey = NDArray[np.uint8]


@dataclass(frozen=True)
class Measures:
    """One route's figures for one picture."""

    f_percent: float
    psnr_db: float
    drd: float


def otsu(grey: Grey, px_per_mm: float) -> Ink:
    """Return what is darker than the one threshold that parts the values best."""
    _, two_tone = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    return np.asarray(two_tone == 0)


def adaptive(grey: Grey, px_per_mm: float) -> Ink:
    """Return what is darker by some values than the mean of its surroundings, the nearest weighing most."""
    side = 2 * round(WINDOW_MM * px_per_mm / 2) + 1
    how = (cv2.ADAPTIVE_THRESH_GAUSSIAN_C, cv2.THRESH_BINARY)
    return np.asarray(cv2.adaptiveThreshold(grey, 255, *how, side, ADAPTIVE_BELOW) == 0)


def sauvola(grey: Grey, px_per_mm: float) -> Ink:
    """Return what is darker than its surroundings' mean, lowered where they are even."""
    side = 2 * round(WINDOW_MM * px_per_mm / 2) + 1
    values = grey.astype(np.float64)
    mean = cv2.boxFilter(values, -1, (side, side))
    square = cv2.boxFilter(values * values, -1, (side, side))
    deviation = np.sqrt(np.maximum(square - mean * mean, 0))
    return np.asarray(values < mean * (1 + SAUVOLA_K * (deviation / SAUVOLA_R - 1)))


ROUTES: dict[str, Callable[[Grey, float], Ink]] = {"Otsu": otsu, "adaptive": adaptive, "Sauvola": sauvola}


def measured(case: Case) -> dict[str, Measures] | None:
    """Return each route's figures for one picture; None if it is refused."""
    width_mm, height_mm = case.sheet_mm
    photo = decode_photo(case.picture.read_bytes(), "/photo")
    try:
        read = rectify([photo], SheetSize(width_mm=width_mm, height_mm=height_mm), silent)
    except ConversionError:
        return None
    truth = _true_pixels(case, read.coverage)
    grey = cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY)
    square = _laid_square(np.asarray(grey, np.uint8), case.record, read.coverage)
    found = {OURS: read.coverage.pixels < HALF}
    found |= {name: route(square, 1 / read.coverage.mm_per_px) for name, route in ROUTES.items()}
    return {
        name: Measures(recall_precision_f(ink, truth)[2], psnr_db(ink, truth), drd(ink, truth))
        for name, ink in found.items()
    }


def _true_pixels(case: Case, coverage: InkCoverage) -> Ink:
    rings = [
        np.asarray(ring.coords)[:-1] / coverage.mm_per_px
        for part in true_ink(case).geoms
        for ring in (part.exterior, *part.interiors)
    ]
    return np.asarray(covered(rings, *coverage.pixels.shape) < HALF)


def _laid_square(grey: Grey, record: dict[str, Any], like: InkCoverage) -> Grey:
    """Return the photo on the sheet's raster by the record's geometry; a scan fills its sheet already."""
    rows, columns = like.pixels.shape
    if not record:
        return np.asarray(cv2.resize(grey, (columns, rows), interpolation=cv2.INTER_AREA), np.uint8)
    y, x = (np.mgrid[0:rows, 0:columns] + 0.5) * like.mm_per_px
    seen = _through(np.array(record["homography_mm_to_px"]), x, y)
    if record["grid_mm"] is not None:
        seen += _curl_px(record, x, y)
    seen_x, seen_y = (seen - 0.5).astype(np.float32)
    return np.asarray(cv2.remap(grey, seen_x, seen_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))


def _through(homography: NDArray[np.float64], x: NDArray[Any], y: NDArray[Any]) -> NDArray[np.float64]:
    across, down, depth = (row[0] * x + row[1] * y + row[2] for row in homography)
    return np.stack([across / depth, down / depth])


def _curl_px(record: dict[str, Any], x: NDArray[Any], y: NDArray[Any]) -> NDArray[np.float64]:
    """Return how far the curl moves each point, cubic between the record's knots."""
    knots_mm, knots_px = np.array(record["grid_mm"]), np.array(record["grid_px"])
    columns = len(np.unique(knots_mm[:, 0]))
    flat = _through(np.array(record["homography_mm_to_px"]), knots_mm[:, 0], knots_mm[:, 1])
    moved = (knots_px.T - flat).reshape(2, -1, columns)
    last_mm = knots_mm.max(axis=0)
    pad = 2  # beyond the sheet's rim it goes on as it came
    at_x = (x / last_mm[0] * (columns - 1) + pad).astype(np.float32)
    at_y = (y / last_mm[1] * (moved.shape[1] - 1) + pad).astype(np.float32)
    return np.stack(
        [
            cv2.remap(np.pad(way, pad, mode="reflect", reflect_type="odd"), at_x, at_y, cv2.INTER_CUBIC)
            for way in moved
        ]
    )


def rows_of(kind: str, every: Sequence[dict[str, Measures] | None]) -> Iterator[list[object]]:
    """Yield a row for each route over one kind of pictures."""
    read = [one for one in every if one is not None]
    for number, name in enumerate((OURS, *ROUTES)):
        figures = [one[name] for one in read]
        yield [
            kind if number == 0 else "",
            name,
            f"{statistics.median(one.f_percent for one in figures):.2f}",
            f"{min(one.f_percent for one in figures):.2f}",
            f"{statistics.median(one.psnr_db for one in figures):.2f}",
            f"{statistics.median(one.drd for one in figures):.2f}",
            f"{max(one.drd for one in figures):.2f}",
            f"{len(read)} of {len(every)}",
        ]


HEADINGS = (
    *("pictures", "route", "F-measure, median", "worst", "PSNR dB, median"),
    *("DRD, median", "worst", "read"),
)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--only", nargs="+", choices=KINDS, default=KINDS, help="kinds of pictures")
    parser.add_argument("--drawings", nargs="+", metavar="NAME", help="drawings; all if not given")
    asked = parser.parse_args(arguments)
    if not DATA.exists():
        parser.exit(message="The development data is not beside this checkout: nothing to measure.\n")
    rows: list[list[object]] = []
    for kind in asked.only:
        every = []
        for case in cases(kind):
            if not asked.drawings or case.name in asked.drawings:
                every.append(measured(case))
                tell(f"{case.name}.{kind}: {every[-1]}")
        rows += rows_of(kind, every)
    deliver("Ink told from paper", table(HEADINGS, rows), asked.out)


if __name__ == "__main__":
    main()
