"""How the form of the database came about, one revision after the other; run by Alembic.

A new revision goes to the end of ``store/schema.py`` too. All of them run in one transaction.
Where SQLite makes a table anew to change it, the triggers of an append-only table are lost with the
old one: make them again. A test compares the outcome with ``store/tables.py``.
"""
