"""The schema of a version of Slowphase that does not exist yet, to migrate to."""

import shutil
from importlib.resources import files
from pathlib import Path

from slowphase.store.schema import SCHEMA, Schema

LATER = "9999"
TEXT = '''
"""A form that a later version may have."""

import sqlalchemy as sa
from alembic import op

revision = "{revision}"
down_revision = "{before}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("sessions", sa.Column("room", sa.String(), nullable=False, server_default="?"))
    op.execute("UPDATE sessions SET room = 'one'")
    {more}
'''


def later_schema(place, more="pass"):
    """The scripts of today and one more, which ends with ``more``, in a new folder."""
    shutil.copytree(Path(str(files("slowphase.store"))) / "migrations", place)
    text = TEXT.format(revision=LATER, before=SCHEMA.head, more=more)
    (place / "versions" / "revision_later.py").write_text(text, encoding="utf-8")
    return Schema((*SCHEMA.revisions, LATER), place)
