"""Take the product's pictures of the demo, for the README and for shops of installed apps.

python -m tests.screens [names]   take all, or those named, into static/screens

A file's name tells its real size: <what>-<width>x<height>.png.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from PIL import Image
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.support import ROOT, Server, launch_options

SCREENS = ROOT / "static" / "screens"
PHONE = {"viewport": {"width": 360, "height": 800}, "device_scale_factor": 2}
DESK = {"viewport": {"width": 1280, "height": 800}, "device_scale_factor": 1}
# The same words and colours on every machine, and nothing caught in motion.
EVERYWHERE = {
    "locale": "en-GB",
    "timezone_id": "UTC",
    "color_scheme": "light",
    "reduced_motion": "reduce",
}
COLOURS = 48
GUARD_MS = 450  # a little more than the Ring's own guard against a second tap
DOG = "Bramble"
STATION = "Bite"


def kennel(page: Page) -> None:
    expect(page.locator(".dog-row", has_text="Teasel")).to_be_visible()
    expect(page.locator(".sync-line").first).to_have_text("All synced, just now")


def dog(page: Page) -> None:
    page.locator(".dog-row", has_text=DOG).click()
    expect(page.get_by_role("heading", level=1, name=DOG)).to_be_visible()


def card(page: Page) -> None:
    dog(page)
    page.get_by_role("link", name="Exam card").click()
    expect(page.get_by_role("link", name=STATION)).to_be_visible()


def station(page: Page) -> None:
    card(page)
    page.get_by_role("link", name=STATION).click()
    expect(page.get_by_role("heading", level=1, name=STATION)).to_be_visible()


def ring(page: Page) -> None:
    dog(page)
    page.get_by_role("link", name="Ring", exact=True).click()
    page.get_by_role("button", name="Go in").click()
    step(page, ".ring-station", ".ring-done")


def gate(page: Page) -> None:
    page.locator(".day-gate", has_text=DOG).click()
    expect(page.get_by_role("heading", level=1, name=f"Gate: {DOG}")).to_be_visible()


def learn(page: Page) -> None:
    page.get_by_role("link", name="Learn").click()
    page.get_by_label("Breed").select_option(label="Border Terrier")
    expect(page.locator("#main .figure").first).to_be_visible()


def desk(page: Page) -> None:
    page.goto(page.url.partition("#")[0] + "desk")
    expect(page.get_by_role("heading", level=1, name="The book")).to_be_visible()


def step(page: Page, name: str, onward: str) -> None:
    """Go through the stations with the control `onward` until `name` shows ours."""
    while page.locator(name).first.inner_text() != STATION:
        page.locator(onward).click()
        page.wait_for_timeout(GUARD_MS)


Picture = tuple[Callable[[Page], None], dict[str, object]]
PICTURES: list[Picture] = [
    *((go, PHONE) for go in (kennel, dog, station, gate, ring, learn)),
    *((go, DESK) for go in (dog, desk)),
]


def photograph(
    browser: Browser, url: str, go: Callable[[Page], None], form: dict[str, object]
) -> Path:
    """Open the app as on a new phone, go where the picture is, and keep what is seen there."""
    with browser.new_context(**form, **EVERYWHERE) as context:
        page = context.new_page()
        page.goto(url)
        kennel(page)
        go(page)
        page.mouse.move(0, 0)
        page.evaluate("document.activeElement?.blur()")
        page.wait_for_timeout(GUARD_MS)
        whole = Image.open(io.BytesIO(page.screenshot(animations="disabled", caret="hide")))
    path = SCREENS / f"{go.__name__}-{whole.width}x{whole.height}.png"
    SCREENS.mkdir(exist_ok=True)
    whole.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)
    return path


def main(names: Sequence[str]) -> int:
    with (
        TemporaryDirectory(prefix="ringside-screens-") as folder,
        sync_playwright() as playwright,
        playwright.chromium.launch(**launch_options()) as browser,
    ):
        for number, (go, form) in enumerate(PICTURES):
            if names and go.__name__ not in names:
                continue
            # A book of its own each time: no picture shows what another one left behind.
            with Server(Path(folder, str(number))) as server:
                path = photograph(browser, server.url, go, form)
            print(f"{path.relative_to(ROOT)}  {path.stat().st_size / 1000:.1f} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
