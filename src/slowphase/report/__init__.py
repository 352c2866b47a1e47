"""How an analysis is shown: on the terminal, and as a page."""
