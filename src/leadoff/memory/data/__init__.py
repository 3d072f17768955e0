"""Data rows of the memory floor."""
