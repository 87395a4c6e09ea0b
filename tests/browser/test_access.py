"""Ringside can be used by everybody: each screen has its name, the keyboard does all that a finger
does, and a screen reader is told what happens. What axe finds is in test_screens.py.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.tour import PHONE, SCREENS, TourPhone

# --- Names, titles and the keyboard ----------------------------------------------------------

TITLES = {
    "kennel": "Ringside",
    "dog": "Bramble · Ringside",
    "dog-new": "New dog · Ringside",
    "dog-edit": "Edit dog · Ringside",
    "card": "Teasel: exam card · Ringside",
    "station": "Bite: Bramble · Ringside",
    "order-new": "Order · Ringside",
    "ring-start": "Ring · Ringside",
    "ring": "Ring: Bramble · Ringside",
    "rehearse-start": "Rehearse · Ringside",
    "rehearse": "Rehearse: Bramble · Ringside",
    "settings": "Settings · Ringside",
    "book": "The book · Ringside",
    "removed": "Removed · Ringside",
    "learn": "Learn · Ringside",
    "learn-walk": "First walk · Ringside",
    "learn-round": "Round · Ringside",
    "words": "Words · Ringside",
    "lost": "No such page · Ringside",
    "desk": "The book · Ringside",
}


@pytest.mark.parametrize("name", TITLES)
def test_each_screen_has_a_title_one_heading_and_takes_the_focus(phone_for, name: str) -> None:
    phone = phone_for(name, PHONE)
    SCREENS[name](phone)
    expect(phone.page).to_have_title(TITLES[name])
    expect(phone.page.get_by_role("heading", level=1)).to_have_count(1)
    if name != "desk":
        expect(phone.page.locator("main:focus, main :focus")).to_have_count(1)


SNAPSHOTS = {
    "dog": """
      - main:
        - link "Back to the kennel"
        - heading "Bramble" [level=1]
        - link "Edit"
        - link /^Ring/
        - link /^Rehearse/
        - link "Exam card"
        - link "Learn"
        - region "What matters now":
          - heading "What matters now" [level=2]
          - list:
            - listitem:
              - link /Hollow Meadow.* Next show/
            - listitem:
              - link /Work on Bite, Knees, then Head. Practice/
        - region "Orders of your own":
          - link "Add an order"
      """,
    "dog-new": """
      - main:
        - heading "New dog" [level=1]
        - textbox "Call name"
        - combobox "Breed"
        - group "Sex":
          - radio "Dog"
          - radio "Bitch"
        - textbox "Date of birth"
        - group "Examined on":
          - radio "As usual" [checked]
          - radio "Table"
          - radio "Ground"
          - radio "Ramp"
        - combobox "Standard to read"
        - textbox "Registered name (optional)"
        - button "Save"
      """,
    "card": """
      - main:
        - heading "Exam card" [level=1]
        - combobox "Order"
        - heading "First look" [level=2]
        - heading "Hands-on exam" [level=2]
        - list:
          - listitem:
            - link /1 Head .* caution Easy/
      """,
    "station": """
      - main:
        - link "Back to the exam card"
        - heading "Bite" [level=1]
        - heading "What you do" [level=2]
        - heading "Avoid" [level=2]
        - heading "What the standard asks" [level=2]
        - heading "Your note on Bramble" [level=2]
        - button "Show note"
        - textbox "Own cue, up to five words"
        - navigation "Stations":
          - link "Ears"
          - link "Neck"
      """,
    "order-new": """
      - main:
        - textbox "Name of this order"
        - list:
          - listitem:
            - button "Head earlier" [disabled]
            - button "Head later"
      """,
    "rehearse": """
      - main:
        - heading "Bite" [level=1]
        - timer "Time at this station"
        - group "How did Bramble take it?":
          - button "Easy"
          - button "Needs work"
          - button "Not yet"
        - button "Undo"
        - button "Skip"
      """,
    "settings": """
      - main:
        - heading "Settings" [level=1]
        - group "Theme":
          - radio "Light" [checked]
          - radio "Dark"
          - radio "As phone"
        - group "Hand that holds the phone"
        - group "Type size"
      """,
}


@pytest.mark.parametrize("name", SNAPSHOTS)
def test_a_screen_reader_hears_the_names(phone_for, name: str) -> None:
    phone = phone_for(name, PHONE)
    SCREENS[name](phone)
    expect(phone.page.locator("body")).to_match_aria_snapshot(SNAPSHOTS[name])


VISIBLE_FOCUS = """() => {
  const at = document.activeElement;
  if (!at || at === document.body) return "Nothing has the focus.";
  const drawn = (element) => {
    const { outlineStyle, outlineWidth } = getComputedStyle(element);
    return outlineStyle !== "none" && parseFloat(outlineWidth) >= 2;
  };
  const label = at.nextElementSibling;  // What stands for a choice.
  if (!drawn(at) && !(label && drawn(label))) return `No outline: ${at.outerHTML.slice(0, 90)}`;
  const box = at.getBoundingClientRect();
  const inside = box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
  return inside ? "" : `Out of sight: ${at.outerHTML.slice(0, 90)}`;
}"""


def tab_to(page: Page, name: str, most: int = 60) -> None:
    """Press Tab until what has the focus is named so; it is seen at every step."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            continue  # The end of the page; from here Tab goes to its start.
        assert page.evaluate(VISIBLE_FOCUS) == ""
        if (
            page.locator(":focus")
            .and_(page.get_by_role(ROLE_OF.get(name, "link"), name=name))
            .count()
        ):
            return
    pytest.fail(f"Tab never came to {name}.")


ROLE_OF = {
    name: role
    for role, names in {
        "textbox": ["Call name", "Date of birth", "Private note", "Name of this order"],
        "combobox": ["Breed", "Order"],
        "radio": ["Dog"],
        "button": [
            "Save",
            "Go in",
            "Done",
            "List",
            "Save note",
            "Show note",
            "Change",
            "Remove",
            "Bite earlier",
            "Easy",
            "Begin",
            "Use this one",
            "Bring back",
            "Keep here only",
        ],
    }.items()
    for name in names
}


def tab_to_summary(page: Page, words: str) -> None:
    """As tab_to, for what opens and closes: it has no role that all browsers agree on."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.locator("summary:focus", has_text=words).count():
            return
    pytest.fail(f"Tab never came to {words}.")


def heard(phone: TourPhone, words: str) -> None:
    """The live region says it."""
    expect(phone.page.locator("#voice")).to_contain_text(words)


def drop_drafts(phone: TourPhone) -> None:
    """Forget what other tests typed on this phone and did not save."""
    for row in phone.rows("meta"):
        if row["key"].startswith("draft "):
            phone.store("dropDraft(it)", row["key"].removeprefix("draft "))


def test_what_has_the_focus_goes_and_the_focus_stays(phone_for) -> None:
    """After a removal or a choice, the focus is on the heading above, and the voice says so."""
    phone = phone_for("removed", PHONE)
    page = phone.page
    drop_drafts(phone)
    SCREENS["removed"](phone)
    page.get_by_role("button", name="Bring back").last.press("Enter")
    heard(phone, "Brought back.")
    expect(page.get_by_role("heading", name="Removed", level=1)).to_be_focused()

    phone.show(f"dog/{phone.dogs['Puddle']}/station/head")
    page.get_by_role("button", name="Remove").first.press("Enter")
    heard(phone, "Removed.")
    expect(page.get_by_role("heading", name="Your own cue")).to_be_focused()

    phone.show(f"dog/{phone.dogs['Drift']}/station/neck")
    page.get_by_role("button", name="Show note").press("Enter")
    page.get_by_role("button", name="Change").press("Enter")
    expect(page.get_by_role("textbox", name="Private note").first).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Show note")).to_be_visible()
    expect(page.get_by_role("heading", name="Your note on Drift")).to_be_focused()
    page.get_by_role("button", name="Show note").press("Enter")
    page.get_by_role("button", name="Remove").press("Enter")
    heard(phone, "Note removed.")
    expect(page.get_by_role("heading", name="Your note on Drift")).to_be_focused()

    phone.show("dog/new")
    page.get_by_role("button", name="Save").press("Enter")
    expect(page.get_by_label("Call name")).to_be_focused()
    expect(page.get_by_label("Call name")).to_have_accessible_description(
        "Write the name you call the dog by."
    )
    expect(page.get_by_role("alert")).to_contain_text("4 fields need a look")
    # The name mended, its hint is gone; the breed's own hint comes back with the breed.
    page.get_by_label("Call name").fill("Bracken")
    page.get_by_role("combobox", name="Breed").fill("Whippet")
    page.get_by_role("button", name="Save").press("Enter")
    expect(page.locator("#f-breed-hint")).to_contain_text("Type a few letters")
    expect(page.get_by_label("Call name")).to_have_accessible_description("")

    troubled = phone_for("book-trouble", PHONE)
    SCREENS["book-trouble"](troubled)
    troubled.page.get_by_role("button", name="Keep here only").press("Enter")
    expect(troubled.page.get_by_role("button", name="Keep here only")).to_have_count(0)
    expect(troubled.page.get_by_role("heading", name="The book", level=1)).to_be_focused()


def test_a_rehearsal_by_keyboard(phone_for) -> None:
    phone = phone_for("rehearse", PHONE)
    page = phone.page
    phone.show(f"rehearsal/{phone.put_walk('rehearse', 'Gustav', 'head', {})}")
    tab_to(page, "Easy")
    page.keyboard.press("Enter")
    heard(phone, "Head: easy.")
    expect(page.get_by_role("heading", name="Eyes", level=1)).to_be_visible()
    expect(page.get_by_role("button", name="Easy")).to_be_focused()
    page.get_by_role("button", name="Undo").press("Enter")
    heard(phone, "Undone.")
    expect(page.get_by_role("heading", name="Head", level=1)).to_be_visible()


def test_the_keyboard_does_it_all(phone_for) -> None:
    """Add a dog, write and show a note, change the order, open the card, walk the ring."""
    phone = phone_for("kennel", PHONE)
    page = phone.page
    press = page.keyboard.press
    drop_drafts(phone)
    phone.show("")

    def follow(link: str) -> None:
        tab_to(page, link)
        press("Enter")
        expect(page.locator("main")).to_be_focused()

    # A new dog's form begins in its first field.
    tab_to(page, "Add a dog")
    press("Enter")
    expect(page.get_by_role("textbox", name="Call name")).to_be_focused()
    page.keyboard.type("Kestrel")
    tab_to(page, "Breed")
    page.keyboard.type("border")
    press("ArrowDown")
    press("Enter")
    expect(page.get_by_role("combobox", name="Breed")).to_have_value(re.compile("Border"))
    tab_to(page, "Dog")
    press("Space")
    tab_to(page, "Date of birth")
    page.keyboard.type("03142024")
    tab_to(page, "Save")
    press("Enter")
    expect(page.get_by_role("heading", name="Kestrel", level=1)).to_be_visible()
    heard(phone, "Kestrel was saved.")
    expect(page.locator("main")).to_be_focused()

    follow("Exam card")
    follow("Bite")
    tab_to_summary(page, "Write a note")
    press("Enter")
    tab_to(page, "Private note")
    page.keyboard.type("Breathe first.")
    tab_to(page, "Save note")
    press("Enter")
    heard(phone, "Saved.")
    press("Shift+Tab")
    press("Shift+Tab")
    press("Shift+Tab")
    expect(page.get_by_role("button", name="Show note")).to_be_focused()
    press("Enter")
    expect(page.get_by_text("Breathe first.")).to_be_visible()
    press("Enter")
    expect(page.get_by_text("Breathe first.")).to_have_count(0)

    follow("Back to the exam card")
    follow("Back to the dog")
    follow("Add an order")
    tab_to(page, "Name of this order")
    page.keyboard.type("Bite first")
    tab_to(page, "Bite earlier")
    for place in (3, 2, 1):
        press("Enter")
        heard(phone, f"Bite is now number {place}.")
        expect(page.locator(".order-row :focus")).to_have_count(1)
    tab_to(page, "Save")
    press("Enter")
    heard(phone, "The order was saved.")
    expect(page.get_by_role("link", name="Bite first")).to_be_visible()

    follow("Ring")
    follow("Go in")
    expect(page.get_by_role("heading", name="Outline")).to_be_visible()
    tab_to(page, "Done")
    for station in ("Free stack", "Approach"):
        press("Enter")
        expect(page.get_by_role("heading", name=station)).to_be_visible()
        phone.wait_out_guard()
    tab_to(page, "List")
    press("Enter")
    expect(page.get_by_role("heading", name="Stations")).to_be_focused()
    phone.wait_out_guard()
    press("Escape")
    expect(page.get_by_role("button", name="List")).to_be_focused()
