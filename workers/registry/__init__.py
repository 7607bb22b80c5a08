"""Finds plug-ins; built-in ones come through the same door."""
