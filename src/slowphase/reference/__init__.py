"""How unusual a value is: reference sets with their sources, and how one is chosen."""
