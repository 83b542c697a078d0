"""A private PostgreSQL for the commands that store."""

from tests.postgres import postgres, postgres_url  # noqa: F401
