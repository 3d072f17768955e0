"""Files to facts with their place and rank; what explains a conflict. Proposes, never appends."""
