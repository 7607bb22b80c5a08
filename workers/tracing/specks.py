"""Specks: marks and pinholes too small to have been drawn."""

SPECK_MM2 = 0.05  # a dot of a quarter of a millimetre: finer than any marker, and no bit would show it
SPECK_PX2 = 12.0  # and seen by a few pixels only: what a fine scan shows clearly is kept


def least_drawn_px2(mm_per_px: float) -> float:
    """Return the area from which on a mark or a pinhole is no speck: it is large on the paper or in pixels.

    Args:
        mm_per_px: Scale of the picture.
    """
    return min(SPECK_MM2 / mm_per_px**2, SPECK_PX2)
