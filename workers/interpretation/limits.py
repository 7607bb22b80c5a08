"""How large and how small a program's numbers may get; no machine follows beyond, no reader need try.

Plain numbers of up to 15 digits, which the compiled way reads, are always within the first two.
"""

from __future__ import annotations

LARGEST_NUMBER = 1e15  # of any word, operand or result
SLOWEST_FEED = 1e-15  # mm a minute, or one over minutes
FARTHEST_MM = 1e6  # from the origin, and the radius of an arc
MOST_CHANGES = 200  # of bits, and of length offsets; no shop has so many
DEEPEST_BRACKETS = 30  # one in another; # before # counts alike
