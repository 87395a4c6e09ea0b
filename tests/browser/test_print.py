"""The pocket card on paper: one sheet, folded in half three times, from the phone and the desk."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

from PIL import Image
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from pypdf.generic import ContentStream

from tests.browser.phone import Phone
from tests.support import Server

PANELS = 8
LEAST_PT = 9
A_POINT = 72 / 25.4
SHEETS = {"a4": (210, 297), "letter": (215.9, 279.4)}  # mm
# A breed with a long card, a short-faced one with the most cautions, and one with notes.
DOGS = ("Drift", "Gustav", "Bramble")
PRIVATE = "Lower left corner incisor"
LINES = ".pocket-sheet :is(h2, h3, .pocket-do, .pocket-ask, .pocket-care, .pocket-own)"

# What of a sheet reaches over its panel, and the smallest type in points.
MEASURE = """sheet => {
  const out = [], sizes = [];
  for (const panel of sheet.children) {
    const frame = panel.getBoundingClientRect();
    for (const line of panel.children) {
      const box = line.getBoundingClientRect();
      if (box.bottom > frame.bottom || box.right > frame.right || box.left < frame.left)
        out.push(line.textContent);
      sizes.push(parseFloat(getComputedStyle(line).fontSize) * 0.75);
    }
  }
  return { out, least: Math.min(...sizes), panels: sheet.children.length };
}"""


def paper(page: Page) -> PdfReader:
    return PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))


def words_of(pdf: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def least_type(pdf: PdfReader) -> float:
    """The smallest type on the first page in points, as far as its own matrices scale it."""
    found = []

    def seen(text: str, cm: list[float], tm: list[float], _: object, size: float) -> None:
        if text.strip():
            found.append(size * abs(cm[3] * tm[3]))

    pdf.pages[0].extract_text(visitor_text=seen)
    assert ContentStream(pdf.pages[0].get_contents(), pdf).operations
    return min(found)


def test_a_card_fills_one_sheet_and_keeps_its_secrets(
    server: Server, page: Callable[..., Page]
) -> None:
    phone = Phone(page(locale="en-GB", accept_downloads=True), server.url).open()
    phone.until(lambda: phone.meta("synced"), "the book was met")
    sheet = phone.page.locator(".pocket-sheet")
    for name in DOGS:
        phone.page.goto(f"{server.url}#/dog/{phone.dogs[name]}/print")
        expect(sheet.locator(".pocket-name")).to_have_text(name)
        expect(phone.page.locator("#pocket-paper")).to_have_value("a4")
        for size, (wide, high) in SHEETS.items():
            phone.page.locator("#pocket-paper").select_option(size)
            measured = sheet.evaluate(MEASURE)
            assert measured["out"] == []
            assert (measured["panels"], measured["least"] >= LEAST_PT) == (PANELS, True)
            pdf = paper(phone.page)
            assert len(pdf.pages) == 1, (name, size)
            box = pdf.pages[0].mediabox
            assert abs(float(box.width) - wide * A_POINT) < 1
            assert abs(float(box.height) - high * A_POINT) < 1
            words = words_of(pdf)
            for known in (name, "First look", "1 Outline:", "Testes:" if name != "Bramble" else
                          "Knees:", "Last look", "Care:", "Asked:" if name == "Gustav" else
                          "FCI asks:", "see a vet"):  # fmt: skip
                assert known in words, (name, size, known)
            assert PRIVATE not in words
            assert least_type(pdf) >= LEAST_PT - 0.01

    # Private notes: only where they are asked for, each time anew.
    phone.page.get_by_label("Print my private notes too").check()
    expect(phone.page.get_by_text("Your private notes are on this card.")).to_be_visible()
    assert PRIVATE in words_of(paper(phone.page))
    phone.page.goto(f"{server.url}#/dog/{phone.dogs['Bramble']}/card")
    phone.page.get_by_role("link", name="Print").click()
    expect(sheet.locator(".pocket-name")).to_have_text("Bramble")
    expect(phone.page.get_by_label("Print my private notes too")).not_to_be_checked()
    assert PRIVATE not in sheet.inner_text()
    of_phone = phone.page.locator(LINES).all_inner_texts()

    # A picture, where there is no share sheet: the words are on every panel of it.
    with phone.page.expect_download() as saved:
        phone.page.get_by_role("button", name="Share a picture").click()
    picture = Image.open(saved.value.path()).convert("L")
    wide, high = picture.width // 2, picture.height // 4
    for place in range(PANELS):
        left, top = place // 4 * wide, place % 4 * high
        panel = picture.crop((left + 20, top + 20, left + wide - 20, top + high - 20))
        dark, light = panel.getextrema()
        assert (dark < 80, light) == (True, 255), place

    # The desk's card is the same, from the book.
    phone.page.goto(f"{server.url}desk/dog/{phone.dogs['Bramble']}/card")
    expect(sheet.locator(".pocket-name")).to_have_text("Bramble")
    assert phone.page.locator(LINES).all_inner_texts() == of_phone
    pdf = paper(phone.page)
    assert len(pdf.pages) == 1
    assert PRIVATE not in words_of(pdf)
    phone.page.get_by_label("Print my private notes too").check()
    phone.page.get_by_role("button", name="Show the card").click()
    expect(sheet.locator(".pocket-note").first).to_contain_text(re.compile(PRIVATE))
    phone.page.goto(phone.page.url)
    expect(sheet.locator(".pocket-name")).to_have_text("Bramble")
    expect(sheet.locator(".pocket-note")).to_have_count(0)


def test_what_is_too_much_is_told_and_nothing_is_cut(
    server: Server, page: Callable[..., Page]
) -> None:
    """Long notes and many cues of one's own go over panels; what has no room is counted."""
    phone = Phone(page(locale="en-US"), server.url).open()
    phone.until(lambda: phone.meta("synced"), "the book was met")
    dog = phone.dogs["Cobble"]
    note = {"dog": dog, "station": "bite", "text": "wordsofone " * 900 + "x" * 900}
    phone.store("write('note', null, it)", note)
    phone.page.goto(f"{server.url}#/dog/{dog}/print")
    sheet = phone.page.locator(".pocket-sheet")
    expect(sheet.locator(".pocket-name")).to_have_text("Cobble")
    expect(phone.page.locator("#pocket-paper")).to_have_value("letter")
    phone.page.get_by_label("Print my private notes too").check()
    expect(phone.page.get_by_text("left out")).to_contain_text(re.compile(r"[0-9]+ lines are"))
    assert sheet.evaluate(MEASURE)["out"] == []
    assert len(paper(phone.page).pages) == 1
