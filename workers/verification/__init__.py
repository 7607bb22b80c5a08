"""Programs against the design and the limits: the proof."""
