"""Stock that is not as thick as it is said to be (trade.md P-12)."""

import pytest

from schemas.boards import Board
from workers.layout.stock import stock_findings
from workers.pipeline.design_words import board


@pytest.mark.parametrize("measured_mm", [None, 19.05, 18.96, 19.14])
def test_stock_as_it_is_said_needs_no_word(measured_mm: float | None) -> None:
    """Nobody measured, or the calipers agree within 0.1 mm."""
    assert stock_findings(19.05, measured_mm) == ()


@pytest.mark.parametrize(
    ("measured_mm", "code", "words"),
    [
        (18.2, "stock-thinner-than-said", "measures 18.20 mm, 0.85 mm less than the 19.05 mm"),
        (19.5, "stock-thicker-than-said", "measures 19.50 mm, 0.45 mm more than the 19.05 mm"),
    ],
)
def test_other_stock_is_a_warning_with_both_figures(measured_mm: float, code: str, words: str) -> None:
    """And what is cut by."""
    [finding] = stock_findings(19.05, measured_mm)

    assert (finding.code, finding.severity.value) == (code, "warning")
    assert words in finding.message


def test_everything_is_cut_by_what_was_measured() -> None:
    """The board that reaches planner and proof is the real one."""
    said = {"width": 100, "height": 80, "thickness": "3/4 in", "material": "basswood"}

    assert board(Board.model_validate(said)).thickness_mm == 19.05
    assert board(Board.model_validate(said | {"measured": 18.2})).thickness_mm == 18.2
