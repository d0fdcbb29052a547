"""The browser is killed in the middle of an observation without a network: what was tapped before is there again."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.conftest import PHONE, SWITCHES, chromium_program
from tests.browser.observing_in_browser import expect_sent, made_ready, row, stored_kinds
from tests.observing import opened
from tests.small_service import SmallService

SignIn = Callable[[Page, str], None]


@pytest.fixture
def ready(small_sqlite: SmallService) -> SmallService:
    return made_ready(small_sqlite)


@pytest.fixture
def device(tmp_path: Path) -> Path:
    """Where this device keeps what its browser stores."""
    return tmp_path / "device"


@pytest.fixture
def open_device(browser: Browser, device: Path) -> Iterator[Callable[[], BrowserContext]]:
    """Opens a browser on the same device again and again."""
    contexts: list[BrowserContext] = []

    def make() -> BrowserContext:
        context = browser.browser_type.launch_persistent_context(
            device, executable_path=chromium_program(), args=SWITCHES, viewport=PHONE, locale="en-GB"
        )
        context.set_default_timeout(10_000)
        contexts.append(context)
        return context

    yield make
    contexts[-1].close()


def kill(device: Path) -> None:
    """Kill every process of the browser that works on this device, and wait until they are gone."""
    mine = processes_of(device)
    assert mine
    for process in mine:
        os.kill(process, signal.SIGKILL)
    for _ in range(100):
        if not processes_of(device):
            break
        time.sleep(0.05)
    for lock in device.glob("Singleton*"):
        lock.unlink()


def processes_of(device: Path) -> list[int]:
    wanted = f"--user-data-dir={device}".encode()
    found = []
    for folder in Path("/proc").iterdir():
        try:
            words = (folder / "cmdline").read_bytes() if folder.name.isdigit() else b""
        except OSError:
            continue
        if wanted in words.split(b"\0"):
            found.append(int(folder.name))
    return found


@pytest.mark.parametrize("after_ms", [300, 0])
def test_a_browser_killed_after_a_tap_still_has_it(
    open_device: Callable[[], BrowserContext],
    device: Path,
    live_server: str,
    ready: SmallService,
    sign_in_as: SignIn,
    after_ms: int,
) -> None:
    address = f"{live_server}/observe/{opened(ready, 'k')}"
    context = open_device()
    page = context.new_page()
    sign_in_as(page, "tor")
    page.goto(address)
    page.wait_for_function("() => navigator.serviceWorker.controller")
    page.locator(row(page, "b")).click()
    expect_sent(page, 1)
    page.wait_for_timeout(1_000)
    context.set_offline(True)
    for step in "cad":
        page.locator(row(page, step)).click()
    expect(page.locator("#step-d .step-ord")).to_have_text("4")
    page.wait_for_timeout(after_ms)
    kill(device)
    again = open_device()
    again.set_offline(True)
    page = again.new_page()
    page.goto(address)
    expect(page.locator("#step-d .step-ord")).to_have_text("4")
    expect(page.locator(".under-thumb .state")).to_contain_text("3 marks not sent yet")
    sign_in_as(page, "tor")
    again.set_offline(False)
    expect_sent(page, 4)
    assert stored_kinds(ready) == ["mark"] * 4
