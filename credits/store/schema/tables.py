"""The table classes of the log, made from its records: what makes tables and writes rows."""

from __future__ import annotations

from types import new_class
from typing import Any, get_args

import sqlalchemy as sa
from sqlalchemy.orm import registry
from sqlalchemy.schema import SchemaItem
from sqlalchemy.types import TypeEngine
from sqlmodel import Field, SQLModel

from credits.store.schema.records import (
    RECORDS,
    VERSION_COLUMN,
    VERSION_TABLE,
    Codec,
    Convert,
    Default,
    ForeignKey,
    Index,
    LogColumn,
    LogRecord,
    References,
    Rule,
    Unique,
)


class Kept(sa.TypeDecorator[Any]):
    """A value that a column keeps in the way of its codec."""

    impl: TypeEngine[Any] | type[TypeEngine[Any]] = sa.Text
    cache_ok = True

    def __init__(self, codec: Codec) -> None:
        super().__init__()
        self.impl = sa.Integer() if codec.kept is int else sa.Text()
        self.codec = codec

    def bind_processor(self, dialect: sa.Dialect) -> Convert:  # noqa: ARG002
        """Write a value that goes to the database."""
        write = self.codec.write
        return lambda value: None if value is None else write(value)

    def result_processor(self, dialect: sa.Dialect, coltype: object) -> Convert:  # noqa: ARG002
        """Read a value that comes from the database."""
        return self.codec.read


# Batch migrations must be able to name every constraint that they rebuild.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class LogTable(
    SQLModel, registry=registry(metadata=sa.MetaData(naming_convention=NAMES)), defer_build=True
):
    """The common base: one metadata with the names above, apart from SQLModel's own."""


METADATA = LogTable.metadata

VERSION = sa.Table(
    VERSION_TABLE,
    sa.MetaData(),
    sa.Column(VERSION_COLUMN, sa.String, nullable=False),
    sa.PrimaryKeyConstraint(VERSION_COLUMN, name=f"{VERSION_TABLE}_pkc"),
)


def _of_a_column(said: References | Default | Rule) -> SchemaItem | sa.DefaultClause:
    if isinstance(said, Default):
        return sa.DefaultClause(sa.text(said.sql))
    if isinstance(said, Rule):
        return sa.CheckConstraint(said.sql, name=said.name)
    if said.deferred:
        return sa.ForeignKey(said.to, deferrable=True, initially="DEFERRED")
    return sa.ForeignKey(said.to)


def _of_rows(said: Unique | Index | ForeignKey) -> SchemaItem:
    if isinstance(said, Unique):
        return sa.UniqueConstraint(*said.columns)
    if isinstance(said, ForeignKey):
        return sa.ForeignKeyConstraint(said.columns, said.to)
    expressions = (each if each.isidentifier() else sa.text(each) for each in said.expressions)
    return sa.Index(said.name, *expressions, unique=said.unique)


def _type(column: LogColumn) -> Any:
    if column.codec is not None:
        return Kept(column.codec)
    return sa.Integer if int in (column.kind, *get_args(column.kind)) else sa.String


def _make(record: LogRecord) -> None:
    """Make the table class of a record."""
    members: dict[str, Any] = {
        "__module__": __name__,
        "__tablename__": record.name,
        "__table_args__": (
            *map(_of_rows, record.others),
            *(sa.CheckConstraint(rule.sql, name=rule.name) for rule in record.rules),
        ),
        # With a sign behind it, since every model has a method ``copy``.
        "__annotations__": {f"{column.name}_": column.kind for column in record.columns.values()},
    }
    for column in record.columns.values():
        members[f"{column.name}_"] = Field(
            sa_type=_type(column),
            primary_key=column.name == record.key,
            unique=column.unique,
            sa_column_args=tuple(map(_of_a_column, column.said)),
            sa_column_kwargs={"name": column.name},
        )
    called = f"{record.name.title().replace('_', '')}Record"
    new_class(called, (LogTable,), {"table": True}, lambda body: body.update(members))


for _record in RECORDS.values():
    _make(_record)
