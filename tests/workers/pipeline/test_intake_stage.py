"""Intake as a step: what is asked for comes out as files, and what was left out is told."""

from __future__ import annotations

import io
import json
from typing import Any

import numpy as np
import pytest
from PIL import Image

from schemas.processes import PROCESSES
from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.intake.coverage_file import read_coverage
from workers.pipeline import photo_album
from workers.pipeline.outcome import StepOutcome
from workers.pipeline.photo_album import PhotoAlbum
from workers.pipeline.run_step import run_step
from workers.values.image import ColourImage
from workers.values.progress import silent

A5 = {"width": 148, "height": 210}
CORNERS = np.array([(101.3, 60.7), (640.2, 92.4), (690.9, 828.6), (52.8, 860.1)])


def saved(pixels: np.ndarray, kind: str = "PNG", **how: Any) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, kind, **how)
    return out.getvalue()


@pytest.fixture(scope="module")
def sheet() -> np.ndarray:
    return DrawnSheet(
        148.0, 210.0, CORNERS, 750, 940, (disc(60, 80, 25), bar(30, 150, 120, 156))
    ).photograph()


def taken_in(*photos: bytes, **asked: Any) -> StepOutcome:
    files = {f"p{number}": data for number, data in enumerate(photos)}
    links = [{"href": href} for href in files]
    return run_step("intake", {"photos": links, "sheet": A5} | asked, files.__getitem__, silent)


def codes(outcome: StepOutcome) -> set[str]:
    return {finding["code"] for finding in json.loads(outcome.files["report"])["findings"]}


def test_every_file_is_an_output_of_the_process(sheet: np.ndarray) -> None:
    """Two tones: the image, the picture of what was found, the report."""
    outcome = taken_in(saved(sheet))
    assert outcome.problem is None
    assert set(outcome.files) == {"image", "found", "report"}
    assert set(outcome.files) <= set(PROCESSES["intake"].outputs)


def test_a_file_of_several_frames_is_told(sheet: np.ndarray) -> None:
    """The first page of a TIFF is read, and the report says that there were more."""
    pages = saved(sheet, "TIFF", save_all=True, append_images=[Image.new("RGB", (8, 8))])
    assert "first-frame-used" in codes(taken_in(pages))
    assert "first-frame-used" not in codes(taken_in(saved(sheet, "TIFF")))


def test_merging_is_done_when_asked(sheet: np.ndarray) -> None:
    """Two photos: merged if so asked, else the better one alone."""
    photos = saved(sheet), saved(np.roll(sheet, 3, axis=1))
    assert "merged" in codes(taken_in(*photos, merge=True))
    assert "merged" not in codes(taken_in(*photos))


def test_tones_come_as_further_images() -> None:
    """Three tones: all ink in image, without the grey in image_2, both at the same scale and size."""
    picture = np.full((1050, 740, 3), 250, np.uint8)
    picture[150:450, 150:600] = 150
    picture[300:600, 300:700] = 20
    outcome = taken_in(saved(picture), tones=3)
    assert outcome.problem is None
    all_ink, black = (
        read_coverage(outcome.files[name], None, "/x").pixels < 128 for name in ("image", "image_2")
    )
    assert all_ink[200, 200]
    assert not black[200, 200]
    assert all_ink[500, 500]
    assert black[500, 500]
    assert all_ink.sum() - black.sum() == pytest.approx(300 * 450 - 150 * 300, rel=0.02)


def test_fewer_tones_than_asked_for_are_told_or_refused(sheet: np.ndarray) -> None:
    """A drawing in black has two: the report says so, or the step ends with what was found."""
    told = taken_in(saved(sheet), tones=3)
    refused = taken_in(saved(sheet), tones=3, fewer_tones="refuse")

    assert told.problem is None
    assert "fewer-tones" in codes(told)
    assert refused.problem is not None
    assert refused.problem.errors[0].pointer == "/inputs/tones"
    assert "3 tones were asked for, and 2 can be told apart" in refused.problem.detail
    assert {"found", "report"} <= set(refused.files)


def test_large_greys_are_no_shadow_and_no_crumpled_paper() -> None:
    """Where tones are asked for nothing is said of shade or pale ink; in a drawing in black it would be."""
    greys = ((disc(74, 80, 55), 0.42), (disc(74, 80, 40), 0.16))
    grey = saved(DrawnSheet(148.0, 210.0, CORNERS, 750, 940, (disc(74, 80, 20),), greys=greys).photograph())

    assert not codes(taken_in(grey, tones=4)) & {"crumpled", "shadow", "hard-shadow", "pale-ink"}


@pytest.mark.parametrize("tones", [1, 5])
def test_other_counts_of_tones_are_refused(tones: int, sheet: np.ndarray) -> None:
    """Two to four."""
    outcome = taken_in(saved(sheet), tones=tones)
    assert outcome.problem is not None
    assert outcome.problem.errors[0].pointer == "/inputs/tones"


def test_photos_are_decoded_one_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the one looked at last is kept; looking again at it decodes nothing."""
    decoded: list[str] = []

    def decode(data: bytes, field: str) -> ColourImage:
        decoded.append(field)
        return ColourImage(np.zeros((2, 2, 3), np.uint8))

    monkeypatch.setattr(photo_album, "decode_photo", decode)
    links = PROCESSES["intake"].inputs.model_validate({"photos": [{"href": "a"}, {"href": "b"}]}).photos  # type: ignore[attr-defined]
    album = PhotoAlbum(links, str.encode, "/p")
    assert len(list(album)) == 2
    assert album[1] is album[1]
    assert album[0].pixels.shape == (2, 2, 3)
    assert decoded == ["/p/0", "/p/1", "/p/0"]
