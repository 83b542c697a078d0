"""Both databases for the tests of the store."""

from tests.postgres import any_url, db, postgres, postgres_url  # noqa: F401
