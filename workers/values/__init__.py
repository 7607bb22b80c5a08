"""Frozen values that travel between stages: millimetres, y up, no methods that compute.

Two frames, defined in ``frames``; units in every name; arrays read-only.
"""
