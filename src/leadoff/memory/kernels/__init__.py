"""The compiled inner loops: all of the source that their kept code depends on, and nothing else."""
