"""What every test of the app has."""

import pytest
from tests.web.house import quick_hashes


@pytest.fixture(autouse=True)
def _passwords_are_hashed_quickly(monkeypatch):
    quick_hashes(monkeypatch)
