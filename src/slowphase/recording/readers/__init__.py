"""How trace files are opened: what they look like, and their columns as arrays."""
