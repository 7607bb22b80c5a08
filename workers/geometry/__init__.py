"""Mathematics that two stages need."""
