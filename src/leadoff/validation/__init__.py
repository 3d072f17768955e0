"""Ground truth for validation and for the tour: worlds whose boards, runs and failures are invented."""
