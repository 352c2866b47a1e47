"""The session's one reflex for readers: words, terminal, section of the page and its figures."""
