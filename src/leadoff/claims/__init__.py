"""What may be said: exact limits, grades, comparability, standings."""
