"""The measures of binarisation against their published and worked examples (I-10 to I-12)."""

import numpy as np
import pytest

from tests.support.binarisation_scores import Ink, drd, drd_weights, psnr_db, recall_precision_f


def bar() -> Ink:
    """I-12: 32 x 32 with a bar in rows 8 to 23, columns 12 to 19: four uneven blocks."""
    truth = np.zeros((32, 32), np.bool_)
    truth[8:24, 12:20] = True
    return truth


def test_f_measure_of_the_contest_s_example() -> None:
    """I-10, seen in the contest's own page: 27 right, 11 too many, 8 missing: 0.77, 0.71, 73.9 %."""
    truth = np.repeat([True, False, True], [27, 11, 8])[None]
    ink = np.repeat([True, True, False], [27, 11, 8])[None]
    recall, precision, f_percent = recall_precision_f(ink, truth)
    assert recall == pytest.approx(0.771429, abs=5e-7)
    assert precision == pytest.approx(0.710526, abs=5e-7)
    assert f_percent == pytest.approx(73.972603, abs=5e-7)


def test_psnr_of_nineteen_wrong_pixels_in_ten_thousand() -> None:
    """I-11, as on the authors' slides: 27.212464 dB."""
    truth = np.zeros((100, 100), np.bool_)
    ink = truth.copy()
    ink[0, :19] = True
    assert psnr_db(ink, truth) == pytest.approx(27.212464, abs=5e-7)


def test_drd_weights() -> None:
    """I-12: one over the distance, together one."""
    weights = drd_weights()
    corner = [weights[2, 3], weights[3, 3], weights[2, 4], weights[3, 4], weights[4, 4], weights[2, 2]]
    assert corner == pytest.approx([0.072357, 0.051164, 0.036179, 0.032359, 0.025582, 0.0], abs=5e-7)
    assert weights.sum() == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("row", "column", "value", "expected"),
    [(16, 16, False, 0.25), (4, 4, True, 0.25), (15, 20, True, 0.152134)],
    ids=["hole", "speck", "one pixel more at the edge"],
)
def test_drd_of_one_wrong_pixel(row: int, column: int, value: bool, expected: float) -> None:
    """I-12: a hole and a speck stand out more than a pixel at the edge."""
    truth = bar()
    ink = truth.copy()
    ink[row, column] = value
    assert drd(ink, truth) == pytest.approx(expected, abs=5e-7)


def test_equal_pictures_have_no_distortion() -> None:
    """Nothing wrong: F 100, PSNR without end, DRD 0."""
    assert recall_precision_f(bar(), bar())[2] == 100
    assert psnr_db(bar(), bar()) == np.inf
    assert drd(bar(), bar()) == 0


def test_a_truth_without_an_edge_cannot_be_measured() -> None:
    """A blank truth is refused, not divided by."""
    with pytest.raises(ValueError, match="without an edge"):
        drd(bar(), np.zeros_like(bar()))
