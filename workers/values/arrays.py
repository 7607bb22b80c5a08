"""Arrays inside values: checked on entry, then read-only."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def frozen(
    array: NDArray[Any], dtype: type[np.generic], dimensions: int, columns: int | None = None
) -> NDArray[Any]:
    """Return a read-only, contiguous view of the array as ``dtype``; copies only to convert.

    Args:
        array: Any array.
        dtype: What its elements become.
        dimensions: How many axes it must have.
        columns: Length of its last axis, if that is fixed.

    Raises:
        ValueError: The shape is another one.
    """
    if array.ndim != dimensions or (columns is not None and array.shape[-1] != columns):
        raise ValueError(
            f"an array of shape {array.shape} where {dimensions} axes ({columns} columns) belong"
        )
    kept = np.ascontiguousarray(array, dtype=dtype).view()
    kept.flags.writeable = False
    return kept
