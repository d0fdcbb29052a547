"""Audit rows and signatures can only be added; a staff number is one person's whatever its case."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEYS = {"audit": "seq", "signature": "id"}

POSTGRES_REFUSAL = """
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME; END $$
"""


def begin_the_chain() -> None:
    """The head must stand before the first writer comes, or two first writers would each make their own."""
    head = sa.table(
        "audit_head", sa.column("chain", sa.String), sa.column("seq", sa.Integer), sa.column("hash", sa.LargeBinary)
    )
    op.bulk_insert(head, [{"chain": "service", "seq": 0, "hash": bytes(32)}])


def upgrade() -> None:
    begin_the_chain()
    op.execute("CREATE UNIQUE INDEX uq_person_staff_number_any_case ON person (lower(staff_number))")
    if op.get_bind().dialect.name == "postgresql":
        op.execute(POSTGRES_REFUSAL)
        for table in KEYS:
            op.execute(
                f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            )
            op.execute(
                f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
            )
        return
    for table, key in KEYS.items():
        for act in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            )
        op.execute(
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
            f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {key} = NEW.{key}) "
            f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )


def downgrade() -> None:
    raise NotImplementedError("restore the backup that was made before the change instead")
