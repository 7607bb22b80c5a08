"""From a design to cut paths, and the files they travel in."""
