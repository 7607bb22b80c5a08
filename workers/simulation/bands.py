"""Rows shared out to threads: fixed bands, so the result never depends on how many threads there are."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

BANDS = 8


def in_bands(rows: int, work: Callable[[int, int], object]) -> None:
    """Call ``work(first row, row after the last)`` for each band; compiled work runs side by side.

    Args:
        rows: How many rows there are.
        work: Touches only its own rows.
    """
    edges = [rows * band // BANDS for band in range(BANDS + 1)]
    bands = [(first, last) for first, last in pairwise(edges) if first < last]
    threads = min(len(os.sched_getaffinity(0)), len(bands))
    if threads == 1:
        for first, last in bands:
            work(first, last)
        return
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(lambda band: work(*band), bands))
