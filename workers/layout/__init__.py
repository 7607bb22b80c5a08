"""Art, lettering, border and holes on a board, and the files a design travels in."""
