"""Bits, materials, machines and fonts, each row with its source."""
