"""The web face: what a browser on this computer asks for, and nothing else."""
