"""From ink coverage to closed outlines in mm, and the file they travel in."""
