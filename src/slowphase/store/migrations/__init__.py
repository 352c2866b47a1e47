"""How the form of the database came about, one revision after the other; run by Alembic."""
