"""The light of cells, against sorting them by numpy."""

import numpy as np
import pytest

from workers.rectification.cell_light import PARTS, cell_light


def test_top_body_and_darkest_are_those_of_the_sorted_parts() -> None:
    """Of 16 parts the means of the 4 highest, of all above 88 % of that, and of the 5 lowest."""
    fine = np.random.default_rng(7).uniform(100, 60_000, (6 * PARTS, 9 * PARTS)).astype(np.float32)

    found = cell_light(fine)

    for row, column in np.ndindex(6, 9):
        own = np.sort(fine[PARTS * row :, PARTS * column :][:PARTS, :PARTS], axis=None)
        top = own[-4:].mean()
        assert found.top[row, column] == pytest.approx(top, rel=1e-5)
        assert found.body[row, column] == pytest.approx(own[own > 0.88 * top].mean(), rel=1e-5)
        assert found.darkest[row, column] == pytest.approx(own[:5].mean(), rel=1e-5)
