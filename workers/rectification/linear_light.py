"""Light from sRGB values: where blur and half-way levels mean what they say.

A lens blurs light, not values, so the edge of an inked area lies where the light, not
the value, is half way between ink and paper.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

FULL_LIGHT = 65535.0  # of a white pixel
_CHANNEL_WEIGHTS = (0.2126, 0.7152, 0.0722)  # IEC 61966-2-1, red, green, blue


def light_of_value() -> NDArray[np.float64]:
    """Return the linear light, 0..1, of each of the 256 sRGB values.

    Source: IEC 61966-2-1.
    """
    value = np.arange(256) / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def grey_light(pixels: NDArray[np.uint8], mixed_in_values: bool = False) -> NDArray[np.uint16]:
    """Return the luminance of each pixel in linear light, 0..65535.

    Args:
        pixels: (rows, columns, 3) sRGB, red first.
        mixed_in_values: The picture's edges were mixed of values, not of light, as most drawing
            programs do; then the value itself is taken for light.
    """
    curve = np.arange(256) / 255.0 if mixed_in_values else light_of_value()
    shares = np.stack([curve * (weight * FULL_LIGHT) for weight in _CHANNEL_WEIGHTS])
    return np.asarray(_weighed(pixels, shares.astype(np.float32)), np.uint16)


def channel_light(
    pixels: NDArray[np.uint8], channel: int, mixed_in_values: bool = False
) -> NDArray[np.uint16]:
    """Return one channel of each pixel in linear light, 0..65535.

    Args:
        pixels: (rows, columns, 3) sRGB, red first.
        channel: 0 red, 1 green, 2 blue.
        mixed_in_values: As for ``grey_light``.
    """
    curve = np.arange(256) / 255.0 if mixed_in_values else light_of_value()
    return np.asarray((curve * FULL_LIGHT + 0.5).astype(np.uint16)[pixels[:, :, channel]], np.uint16)


@njit(cache=True, nogil=True)
def _weighed(pixels: NDArray[np.uint8], shares: NDArray[np.float32]) -> NDArray[np.uint16]:
    rows, columns = pixels.shape[0], pixels.shape[1]
    light = np.empty((rows, columns), np.uint16)
    for row in range(rows):
        for column in range(columns):
            light[row, column] = np.uint16(
                shares[0, pixels[row, column, 0]]
                + shares[1, pixels[row, column, 1]]
                + shares[2, pixels[row, column, 2]]
                + np.float32(0.5)
            )
    return light
