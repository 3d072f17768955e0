"""Data rows of the readers."""
