"""The published record of one board: page, paper, stills, captions, label, sale words; all from its public file."""
