"""Pictures as Vega-Lite dicts and their SVG. A mark's description is the sentence a screen reader says."""
