"""Audit rows, signatures and marks can only be added, a signed observation stands; one staff number, one person."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEYS = {
    "audit": "seq",
    "signature": "id",
    "observation_event": "id",
    "competence_prediction": "id",
    "standard": "id",
    "standard_requirement": "id",
    "standing_event": "id",
    "standing_end": "id",
    "fair_path_step": "id",
    "leave_return": "id",
    "departure": "id",
    "challenge_answer": "id",
    "remarked_question": "id",
    "remarked_sitting": "id",
    "corrected_observation": "id",
    "shift_answer": "id",
    "shift_alert": "id",
    "take_away_revocation": "take_away_id",
    "take_away_look": "id",
    "record_look": "id",
}

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
        keep_signed_observations()
        keep_decisions()
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
    keep_signed_observations()
    keep_decisions()
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


def keep_signed_observations() -> None:
    """What was signed stays as it was signed; nothing of it is changed or taken away."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE TRIGGER observation_signed_stands BEFORE UPDATE OR DELETE ON observation "
            "FOR EACH ROW WHEN (OLD.signature_id IS NOT NULL) EXECUTE FUNCTION refuse_change()"
        )
        return
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER observation_signed_no_{act.lower()} BEFORE {act} ON observation "
            "WHEN OLD.signature_id IS NOT NULL BEGIN SELECT RAISE(ABORT, 'observation is append-only'); END"
        )


DECIDED = (
    "id, person_id, base_id, competency, outcome, origin, reason, conditions, valid_from, last_valid_day, "
    "profile_code, profile_revision, standard_id, evidence_ids, decided_by, second_by, decided_at, signature_id, "
    "second_signature_id, replaces_id"
)


def keep_decisions() -> None:
    """A decision stays as it was signed; the moment of a void is added once and stays as well."""
    if op.get_bind().dialect.name == "postgresql":
        for name, when, condition in (
            ("decision_stands", f"UPDATE OF {DECIDED} OR DELETE", ""),
            ("decision_void_stands", "UPDATE OF voided_at", "WHEN (OLD.voided_at IS NOT NULL) "),
        ):
            op.execute(
                f"CREATE TRIGGER {name} BEFORE {when} ON decision "
                f"FOR EACH ROW {condition}EXECUTE FUNCTION refuse_change()"
            )
        return
    for name, when, condition in (
        ("decision_no_update", f"UPDATE OF {DECIDED}", ""),
        ("decision_no_delete", "DELETE", ""),
        ("decision_void_stands", "UPDATE OF voided_at", "WHEN OLD.voided_at IS NOT NULL "),
    ):
        op.execute(
            f"CREATE TRIGGER {name} BEFORE {when} ON decision {condition}"
            "BEGIN SELECT RAISE(ABORT, 'decision is append-only'); END"
        )


def downgrade() -> None:
    raise NotImplementedError("restore the backup that was made before the change instead")
