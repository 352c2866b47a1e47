"""The first form of the store."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

APPEND_ONLY = ("original_files", "edits", "readings", "kept_texts", "log")


def upgrade() -> None:
    """Make the tables, and the triggers that let rows only be added."""
    _patients_and_sessions()
    _of_sessions()
    _of_the_clinic()
    _log()
    for table in APPEND_ONLY:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are only added'); END"
            )


def _text(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(), nullable=null)


def _number(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), nullable=False)


def _flag(name: str) -> sa.Column[bool]:
    return sa.Column(name, sa.Boolean(), nullable=False)


def _patients_and_sessions() -> None:
    op.create_table(
        "patients",
        _text("id"), _text("code"), _text("name", null=True), _text("sex"), _text("sought"),
        _text("added_at"), _text("added_by"), _text("merged_into", null=True), _flag("withdrawn"),
        sa.PrimaryKeyConstraint("id", name="pk_patients"),
        sa.ForeignKeyConstraint(["merged_into"], ["patients.id"], name="fk_patients_merged_into"),
    )  # fmt: skip
    op.create_index("ix_patients_code", "patients", ["code"])
    op.create_table(
        "sessions",
        _text("id"), _text("patient"), _text("date", null=True), _text("title"), _text("sought"),
        _text("added_at"), _text("added_by"), _text("input_digest"), _flag("demo"),
        _text("told_code"), _text("told_name", null=True), _text("told_sex"),
        sa.PrimaryKeyConstraint("id", name="pk_sessions"),
        sa.ForeignKeyConstraint(["patient"], ["patients.id"], name="fk_sessions_patient"),
    )  # fmt: skip
    op.create_index("ix_sessions_patient", "sessions", ["patient"])


def _of_sessions() -> None:
    _of_session(
        "original_files", _text("path"), _number("bytes"), _text("sha256"), key=["session", "path"]
    )
    _of_session(
        "edits",
        _number("number"), _text("kind"), _text("trial", null=True),
        sa.Column("own", sa.JSON(), nullable=False), _text("by"), _text("at"), _text("reason"),
        key=["session", "number"],
    )  # fmt: skip
    _of_session(
        "drafts",
        sa.Column("decisions", sa.JSON(), nullable=False), _text("by"), _text("at"),
        key=["session"],
    )  # fmt: skip
    _of_session(
        "readings",
        _number("number"), _text("record_text"), _text("page_html"), _text("by"), _text("at"),
        key=["session", "number"],
    )  # fmt: skip


def _of_session(table: str, *columns: sa.Column[Any], key: list[str]) -> None:
    op.create_table(
        table,
        _text("session"),
        *columns,
        sa.PrimaryKeyConstraint(*key, name=f"pk_{table}"),
        sa.ForeignKeyConstraint(["session"], ["sessions.id"], name=f"fk_{table}_session"),
    )


def _of_the_clinic() -> None:
    op.create_table(
        "signers",
        _text("name"), _text("folded"), _text("hash"), _text("added_at"), _number("failures"),
        _text("failed_at", null=True),
        sa.PrimaryKeyConstraint("name", name="pk_signers"),
        sa.UniqueConstraint("folded", name="uq_signers_folded"),
    )  # fmt: skip
    op.create_table(
        "kept_texts",
        _number("id"), _text("kind"), _text("name"), _text("text", null=True), _text("by"),
        _text("at"),
        sa.PrimaryKeyConstraint("id", name="pk_kept_texts"),
    )  # fmt: skip
    op.create_index("ix_kept_texts_kind_name_id", "kept_texts", ["kind", "name", "id"])


def _log() -> None:
    op.create_table(
        "log",
        _number("id"), _text("at"), _text("by"), _text("what"), _text("text"),
        _text("patient", null=True), _text("session", null=True),
        sa.Column("detail", sa.JSON(), nullable=False),
        sa.Column("reverses", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_log"),
        sa.ForeignKeyConstraint(["patient"], ["patients.id"], name="fk_log_patient"),
        sa.ForeignKeyConstraint(["session"], ["sessions.id"], name="fk_log_session"),
        sa.ForeignKeyConstraint(["reverses"], ["log.id"], name="fk_log_reverses"),
        sa.UniqueConstraint("reverses", name="uq_log_reverses"),
        sqlite_autoincrement=True,
    )  # fmt: skip
    op.create_index("ix_log_patient", "log", ["patient"])
    op.create_index("ix_log_session", "log", ["session"])
