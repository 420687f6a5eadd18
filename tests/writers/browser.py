"""A headless browser for tests of pages: Debian's Chromium, driven by playwright."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the browser. Raises FileNotFoundError where there is none."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        raise FileNotFoundError("chromium")
    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    try:
        with chromium() as started:
            yield started
    except FileNotFoundError:
        pytest.skip("there is no Chromium")


@contextmanager
def opened(browser: Browser, text: str, path: Path, **options: object) -> Iterator[Page]:
    """Show a page from a file; whatever it writes on the console, or asks for, is a fault."""
    path.write_text(text, "utf-8")
    context = browser.new_context(**options)
    page = context.new_page()
    faults: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: faults.append(message.text))
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    yield page
    assert faults == []
    assert asked == [path.as_uri()]
    context.close()
