"""The bars for intake and tracing, held by the same measurements that the commands print.

Source of the bars: the development data's BASELINE.md, read from there. Minutes rather than seconds.
"""

from __future__ import annotations

import statistics
from pathlib import Path

import pytest

from tests.benchmarks import intake_speed, outline_scores
from tests.support.development_data import DATA, KINDS, cases
from tests.support.markdown_reading import table_with

pytestmark = [
    pytest.mark.benchmark,
    pytest.mark.timeout(1800),
]


@pytest.mark.skipif(not DATA.exists(), reason="the development data is not beside this checkout")
@pytest.mark.parametrize("kind", KINDS)
def test_outlines_reach_the_bars(kind: str, tmp_path: Path) -> None:
    """Overlap, boundary and topology at their medians; no poor result and no wrong corner is silent."""
    scores = [outline_scores.scored(case, tmp_path) for case in cases(kind)]
    bar = outline_scores.row_of(table_with(outline_scores.BASELINE, "severity", "wrong sheet corners"), kind)
    sound = sum(score.errors_count == 0 for score in scores)
    wanted = bar["drawings without a topology error"]
    poor = [score for score in scores if score.iou < outline_scores.floors()[kind] or score.has_wrong_corners]

    assert statistics.median(score.iou for score in scores) >= float(bar["IoU"])
    assert statistics.median(score.p95_mm for score in scores) <= float(bar["boundary p95 mm"])
    assert sound >= (len(scores) if wanted == "all" else int(wanted.split()[0]))
    assert not [score.case.name for score in poor if score.is_silent]


def test_the_whole_job_stays_below_its_memory() -> None:
    """12 megapixels to art.svg within 600 MB."""
    whole_mb, _ = intake_speed.peak_mb("teacup")
    assert whole_mb <= intake_speed.MOST_MB


def test_intake_takes_at_most_three_times_the_decoding() -> None:
    """CPU time of decoding and rectifying a 12 megapixel JPEG over that of unpacking it alone."""
    times_s = intake_speed.least_times_s("teacup", 5)
    assert times_s["intake, whole"] <= intake_speed.MOST_INTAKE * times_s["the JPEG's decoding alone"]


@pytest.mark.parametrize("name", ["teacup", "anchor", "rope_locker"])
def test_tracing_is_no_slower_than_plain_opencv(name: str) -> None:
    """CPU time of tracing over that of threshold, contours and polygons on the same raster, in one run."""
    times_s = intake_speed.least_times_s(name, 9)
    assert times_s["tracing"] <= intake_speed.MOST_TRACING * times_s["plain OpenCV tracing"]
