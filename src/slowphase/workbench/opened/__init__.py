"""Sessions that are open: what is shown of them at once, and the desk on which they are edited."""
