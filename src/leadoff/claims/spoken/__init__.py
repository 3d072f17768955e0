"""A spoken or written sentence held against the book, by plain rules: nothing is guessed, no match is invented."""
