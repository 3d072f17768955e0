"""Tables and notes of years: cells to runs, with few questions and no silent guess."""
