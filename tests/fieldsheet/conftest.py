"""The browser, for every test of the field sheet."""

from tests.browser import *  # noqa: F403
