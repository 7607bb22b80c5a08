"""The two frames, and the only words in which they are defined.

Pixel frame
    Column to the right, row down, pixels. The top left pixel covers 0..1 in
    both directions, so pixel centres lie at half integers.

Board frame
    Millimetres. Origin at the lower left corner of the board (or of the sheet
    of a drawing), x right, y up, z up with 0 on the face. Depths are called
    ``depth_mm`` and are positive down; heights are called ``z_mm``.

As it lies, back up
    A board that is turned over sideways, like a page, has the board frame's words for its back: origin at
    the corner that is lower left then, z 0 on the back. So x is the board's width less the front's x.

SVG's own space has y down; ``workers.tracing`` is the crossing, for reading and
writing. Height fields keep row 0 at the lowest y; whoever draws one flips it.
"""

MM_PER_INCH = 25.4  # exact by definition, international yard and pound agreement of 1959
