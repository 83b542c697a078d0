"""Run by Alembic: the steps on the connection it was given; who gives it opened the transaction."""

from __future__ import annotations

from typing import Any, Literal

from alembic import context

from galleyproof.store.schema import Base, Moment


def _render(kind: str, thing: Any, _autogen: Any) -> str | Literal[False]:
    # a step says what the column was, whatever the class becomes later
    return "sa.DateTime(timezone=True)" if kind == "type" and isinstance(thing, Moment) else False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    render_item=_render,
    compare_type=True,
    # the transaction is the caller's, so that steps, guards and lock end together
    transactional_ddl=False,
)
context.run_migrations()
