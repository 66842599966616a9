"""The page for buyers in a real browser (Debian's chromium, driven by Playwright); skipped where there is none."""

from __future__ import annotations

import base64
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

PAGE = Path(__file__).parents[2] / "docs" / "check.html"
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
JUDGE = """async ([data, told]) => {
  const text = atob(data), bytes = new Uint8Array(text.length);
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i);
  const answer = await judged(bytes, told);
  return [answer.kind, answer.reasons, answer.digits || ""];
}"""


@contextmanager
def started() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
        browser = playwright.chromium.launch(executable_path=BROWSER, args=arguments)
        yield browser
        browser.close()


@contextmanager
def opened(
    browser: Any, fragment: str = "", *, scheme: str = "light", width: int = 1280, height: int = 720
) -> Iterator[Any]:
    """The page, opened as a file; a request for anything else, or an error in it, fails the test."""
    page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=scheme)
    told: list[str] = []
    page.on("request", lambda request: told.append(request.url))
    page.on("pageerror", lambda error: told.append(f"error: {error}"))
    page.goto(PAGE.as_uri() + fragment)
    yield page
    page.close()
    assert [url for url in told if not url.startswith(PAGE.as_uri())] == []


def judged_by(page: Any, data: bytes, told: str = "") -> tuple[str, list[str], str]:
    """What the page says of a file: kind, reasons, digits of the key."""
    return tuple(page.evaluate(JUDGE, [base64.b64encode(data).decode(), told]))
