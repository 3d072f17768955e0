"""Pictures for print and film, drawn straight to SVG: exact size, the same bytes each time, no renderer to wait for.

Each mark carries the sentence that a screen reader says.
"""
