"""Every screen, and nothing else."""
