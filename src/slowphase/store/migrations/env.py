"""Run the migrations on the connection that the store hands over, in its transaction."""

from alembic import context

connection = context.config.attributes["connection"]
connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")  # a table may be made anew
context.configure(connection=connection, target_metadata=None, render_as_batch=True)
context.run_migrations()
