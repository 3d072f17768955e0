"""Readings of a sentence found by search over the book: what it names, in any order, held against all that ran."""
