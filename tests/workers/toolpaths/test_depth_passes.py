"""Depth in passes."""

import pytest

from workers.toolpaths.depth_passes import pass_depths_mm


@pytest.mark.parametrize(
    ("depth_mm", "pass_mm", "passes"),
    [(2.0, 5.0, 1), (5.0, 5.0, 1), (5.0000001, 5.0, 1), (5.1, 5.0, 2), (19.35, 1.5, 13)],
)
def test_as_few_equal_passes_as_the_limit_allows(depth_mm: float, pass_mm: float, passes: int) -> None:
    """The last is exactly the depth; steps are equal."""
    depths_mm = pass_depths_mm(depth_mm, pass_mm)

    assert len(depths_mm) == passes
    assert depths_mm[-1] == depth_mm
    steps_mm = [below - above for above, below in zip([0.0, *depths_mm], depths_mm, strict=False)]
    assert steps_mm == pytest.approx([depth_mm / passes] * passes)


def test_no_depth_needs_no_pass() -> None:
    """Nothing to cut."""
    assert pass_depths_mm(0.0, 5.0) == []
