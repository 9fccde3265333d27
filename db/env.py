"""The environment in which migrations run.

The program hands over a connection on which it has begun the transaction (``migrate.py`` in the
store); it drops the triggers before and makes them anew afterwards. A developer names a log:

    alembic -c db/alembic.ini -x log=FOLDER/production.db revision --autogenerate -m "..."

Batch mode rebuilds a table without its indexes on expressions (``uq_engagements_key``,
``uq_replacements_key``): a migration that rebuilds one of the two makes its index again.
"""

from __future__ import annotations

from alembic import context
from sqlalchemy import Connection, create_engine

from credits.store.schema.tables import METADATA


def run(connection: Connection) -> None:
    """Run the migrations on the connection; the caller's transaction is left to the caller."""
    context.configure(
        connection=connection,
        target_metadata=METADATA,
        render_as_batch=True,
        # Dates, yes or no and texts are all TEXT or INTEGER here; a test compares the schemas.
        compare_type=False,
    )
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    address = f"sqlite:///{context.get_x_argument(as_dictionary=True)['log']}"
    with create_engine(address).begin() as opened:
        run(opened)
