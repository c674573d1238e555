"""Chains, their entries, and what the benches' clocks said. Every table takes new rows and nothing else.

The database itself refuses an entry that does not follow the one before it: whatever is cut off or started twice, a
chain has no gap, no double and no second way.
"""

from alembic import op

revision = "1"
down_revision = None
branch_labels = None
depends_on = None

TABLES = """
CREATE TABLE commission.chains (
    chain integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    origin bytea NOT NULL UNIQUE CHECK (length(origin) = 32)
);
CREATE TABLE commission.entries (
    chain integer NOT NULL REFERENCES commission.chains (chain),
    number bigint NOT NULL CHECK (number >= 1),
    run text NOT NULL,
    kind text NOT NULL,
    at text NOT NULL,
    elapsed_us bigint NOT NULL,
    packed boolean NOT NULL,
    payload bytea NOT NULL,
    raw bytea,
    previous bytea NOT NULL CHECK (length(previous) = 32),
    digest bytea NOT NULL CHECK (length(digest) = 32),
    PRIMARY KEY (chain, number)
);
CREATE TABLE commission.clock_checks (
    number bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at timestamptz NOT NULL DEFAULT clock_timestamp(),
    origin bytea,
    computer text NOT NULL,
    ahead_ms bigint NOT NULL,
    within_ms bigint NOT NULL
);
CREATE INDEX clock_checks_by_origin ON commission.clock_checks (origin, number);
"""
FOLLOWS = """
CREATE FUNCTION commission.entry_follows() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog AS $$
BEGIN
    IF NEW.number = 1 THEN
        IF NEW.previous = decode(repeat('00', 32), 'hex')
            AND EXISTS (SELECT FROM commission.chains WHERE chain = NEW.chain AND origin = NEW.digest)
        THEN
            RETURN NEW;
        END IF;
    ELSIF EXISTS (
        SELECT FROM commission.entries
        WHERE chain = NEW.chain AND number = NEW.number - 1 AND digest = NEW.previous
    ) THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'entry % of chain % does not follow the entry before it', NEW.number, NEW.chain
        USING ERRCODE = 'integrity_constraint_violation';
END
$$;
CREATE TRIGGER entries_follow BEFORE INSERT ON commission.entries
    FOR EACH ROW EXECUTE FUNCTION commission.entry_follows();
"""
APPEND_ONLY = """
CREATE FUNCTION commission.append_only() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog AS $$
BEGIN
    RAISE EXCEPTION 'the shared book is append-only: % of % is refused', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation';
END
$$;
"""
NO_CHANGE = """
CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON commission.{table}
    FOR EACH STATEMENT EXECUTE FUNCTION commission.append_only();
"""
RIGHTS = """
GRANT USAGE ON SCHEMA commission TO commission_writer, commission_reader;
GRANT SELECT ON commission.chains, commission.entries, commission.clock_checks, commission.steps
    TO commission_writer, commission_reader;
GRANT INSERT ON commission.chains, commission.entries, commission.clock_checks TO commission_writer;
"""


def upgrade() -> None:
    """Take the step."""
    op.execute(TABLES)
    op.execute(FOLLOWS)
    op.execute(APPEND_ONLY)
    for table in ("chains", "entries", "clock_checks"):
        op.execute(NO_CHANGE.format(table=table))
    op.execute(RIGHTS)
