"""Debian's Chromium for tests of pages, and what every page is held to: a quiet console and no refused content.

A folder of tests takes it in with ``from tests.browser import *`` in its ``conftest.py``.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Playwright, Request, expect

__all__ = ["ARGS", "base_url", "browser_type_launch_args", "chromium", "overheard", "profile", "watch"]

ARGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# A busy machine is no failure.
expect.set_options(timeout=20_000)


def chromium() -> str:
    """Path of the browser; the tests that need it are skipped where there is none."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("there is no chromium on this machine; scripts/test-tools installs it")
    return found


@pytest.fixture(scope="session")
def base_url() -> str:
    """Tests give whole addresses; the plugin's own fixture of this name makes pytest 9 warn of its removal."""
    return ""


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_type_launch_args, "executable_path": chromium(), "args": list(ARGS)}


def watch(page: Page, heard: list[str]) -> None:
    """Write down every error a page reports: of its scripts, of its console, of its content security policy."""
    page.on("pageerror", lambda error: heard.append(f"error: {error}"))
    page.on("console", lambda m: heard.append(f"{m.type}: {m.text}") if m.type in ("error", "warning") else None)
    # what a page asked for and no longer wants when it is left is given up by the browser, not failed
    page.on("requestfailed", lambda r: None if given_up(r) else heard.append(f"request failed: {r.url[:200]}"))


def given_up(request: Request) -> bool:
    """Whether the browser took a request back because its page was left."""
    return request.failure == "net::ERR_ABORTED"


@pytest.fixture
def overheard() -> Iterator[list[str]]:
    """What pages given to ``watch`` complained of; the test fails when there is anything."""
    heard: list[str] = []
    yield heard
    assert heard == []


Opened = Callable[..., BrowserContext]


@pytest.fixture
def profile(playwright: Playwright, tmp_path: Path, overheard: list[str]) -> Iterator[Opened]:
    """Opens a browser on a profile that is kept: closed and opened again under one name, it remembers."""
    opened: list[BrowserContext] = []

    def open_one(name: str = "tablet", **given: Any) -> BrowserContext:
        context = playwright.chromium.launch_persistent_context(
            tmp_path / f"profile {name}", executable_path=chromium(), args=list(ARGS), **given
        )
        opened.append(context)
        context.on("page", lambda page: watch(page, overheard))
        for page in context.pages:
            watch(page, overheard)
        return context

    yield open_one
    for context in opened:
        context.close()
