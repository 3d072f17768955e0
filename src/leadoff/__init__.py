"""leadoff: what the board will score before you touch a jumper, and what you may truthfully say afterwards."""

__version__ = "0.1.0"
