"""Can each stroke, and each wall between strokes, be cut? Verdicts, repair, advice."""
