import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import made_scan
import pytest

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def scan_html() -> bytes:
    return made_scan.scan_page(made_scan.recorded(made_scan.fleet_scan()), made_scan.fleet())


@pytest.fixture(scope="session")
def scan_path(scan_html: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "scan.html"
    path.write_bytes(scan_html)
    return path


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    if not CHROMIUM.exists():
        if os.environ.get("CI"):
            pytest.fail(f"{CHROMIUM} is missing: install Debian's chromium, or nothing looks at the pages")
        pytest.skip(f"{CHROMIUM} is not installed")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    """An offline page; whatever it complains about or asks the network for fails the test."""
    context = chromium.new_context(offline=True)
    found = context.new_page()
    bad: list[str] = []
    # a breach of the page's policy arrives as a console error
    found.on("console", lambda message: bad.append(message.text) if message.type == "error" else None)
    found.on("pageerror", lambda error: bad.append(str(error)))
    found.on("request", lambda asked: bad.append(asked.url) if not asked.url.startswith("file:") else None)
    yield found
    context.close()
    assert bad == []
