"""One reflex for all trials of a session: the whole-session fit, and whether it explains them."""
