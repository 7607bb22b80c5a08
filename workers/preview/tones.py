"""sRGB tones and linear light. Source: IEC 61966-2-1."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_STEPS = 4096  # of linear light; the darkest tones are a step apart

_TONES = np.array(
    [
        round(255 * (12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055))
        for value in np.linspace(0, 1, _STEPS).tolist()
    ],
    dtype=np.uint8,
)


def linear_light(tone: int) -> float:
    """Return the light of an sRGB tone, 0 to 1.

    >>> round(linear_light(188), 3)
    0.503
    """
    value = tone / 255
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def srgb_tones(light: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Return the sRGB tones of linear light, what is beyond 0..1 clipped."""
    steps = np.clip(light * np.float32(_STEPS - 1) + np.float32(0.5), 0, _STEPS - 1).astype(np.uint16)
    tones: NDArray[np.uint8] = _TONES[steps]
    return tones
