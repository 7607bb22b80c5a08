"""Composes stages into steps: files in, files out."""
