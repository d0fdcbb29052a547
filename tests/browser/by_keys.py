"""Going through pages with keys alone: Tab to a thing, type into it, press it."""

from __future__ import annotations

from playwright.sync_api import Locator, Page

HAS_FOCUS = "element => element === document.activeElement"
IS_INSIDE = "() => document.activeElement !== document.body && document.activeElement !== null"


def reach(page: Page, target: Locator, *, most: int = 150) -> None:
    """Press Tab, and after the last thing of the page Shift and Tab, until the target has the focus."""
    target.wait_for(state="attached")
    for key in ("Tab", "Shift+Tab"):
        for _ in range(most):
            if target.evaluate(HAS_FOCUS):
                return
            page.keyboard.press(key)
            if not page.evaluate(IS_INSIDE):
                break
    raise AssertionError(f"no key leads to {target}")


def write(page: Page, target: Locator, text: str) -> None:
    """Go to an entry and replace what stands in it."""
    reach(page, target)
    page.keyboard.press("Control+A")
    page.keyboard.type(text)


def press(page: Page, target: Locator, key: str = "Enter") -> None:
    """Go to a button, a link or a box and press it."""
    reach(page, target)
    page.keyboard.press(key)


def sign_in_by_keys(page: Page, name: str, password: str) -> None:
    """Fill in the page that stands there and send it."""
    write(page, page.get_by_label("Sign-in name"), name)
    write(page, page.get_by_label("Password"), password)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda address: "/sign-in" not in address)
