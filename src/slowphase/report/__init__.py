"""Results shown to people: terminal text and a self-contained page."""
