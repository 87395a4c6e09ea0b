"""What is measured on any screen: what axe finds, whether all stands out, fits, can be tapped."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

# --- axe, in every mode ----------------------------------------------------------------------

MODES: dict[str, dict[str, str]] = {
    "light": {},
    "dark": {"color_scheme": "dark"},
    "more contrast": {"contrast": "more"},
    "forced colours": {"forced_colors": "active"},
}
PLAIN = {"color_scheme": "light", "contrast": "no-preference", "forced_colors": "none"}


def dress(page: Page, mode: str) -> None:
    """Show the page in one of the MODES."""
    media = PLAIN | MODES[mode]
    page.emulate_media(**media, reduced_motion="reduce")
    if "/desk" not in page.url:
        page.evaluate(
            "theme => { document.documentElement.dataset.theme = theme }", media["color_scheme"]
        )


# What a mode can change. The other rules look at the structure, which is the same in all of them.
COLOUR_RULES = ["color-contrast-enhanced", "link-in-text-block"]
# All of WCAG 2.2, also what axe leaves out unless asked (color-contrast-enhanced, target-size).
# Two rules are left out: p-as-heading is a guess that axe itself calls experimental, and takes the
# bold line that opens a list's entry for a heading; color-contrast finds nothing that its stricter
# twin (7:1 instead of 4.5:1, by the same code) does not find, in the same time.
LEFT_OUT = ["p-as-heading", "color-contrast"]
TAGS = ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe(page: Page, rules: list[str] | None = None, but: str = "") -> list[str]:
    """What axe finds, one line for each element; all its rules unless some are named, on the
    whole page unless a part of it is spared.
    """
    if not page.evaluate("'axe' in window"):
        # Evaluated by the browser's tools, so the page's policy need not allow it.
        page.evaluate(Axe().axe_script)
    found = page.evaluate(
        """async ([rules, tags, without, but]) => {
          const all = axe.getRules(tags).map((rule) => rule.ruleId);
          const values = rules ?? all.filter((rule) => !without.includes(rule));
          const { violations } = await axe.run(but ? { exclude: [[but]] } : document, {
            runOnly: { type: "rule", values }, resultTypes: ["violations"], preload: false,
          });
          return violations.flatMap(({ id, nodes }) =>
            nodes.map((node) => `${id}: ${node.html.slice(0, 120)} ${node.failureSummary}`));
        }""",
        [rules, TAGS, LEFT_OUT, but],
    )
    return list(found)


# --- Large text and narrow screens -----------------------------------------------------------

# What does not fit: words cut off at the side, and anything that makes the page scroll sideways.
LOST = """() => {
  const found = [];
  const page = document.documentElement;
  if (page.scrollWidth > page.clientWidth) found.push(`The page is ${page.scrollWidth} wide.`);
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  while (texts.nextNode()) {
    const element = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim()) continue;
    if (element.closest(".unseen, .scroll, [inert], option")) continue;
    if (!element.checkVisibility({ visibilityProperty: true })) continue;
    range.selectNodeContents(texts.currentNode);
    for (const box of range.getClientRects()) {
      let left = 0;
      let right = page.clientWidth;
      for (let at = element; at; at = at.parentElement) {
        if (getComputedStyle(at).overflowX === "visible") continue;
        const edge = at.getBoundingClientRect();
        left = Math.max(left, edge.left);
        right = Math.min(right, edge.right);
      }
      if (box.left < left - 1 || box.right > right + 1) {
        const words = texts.currentNode.data.trim().slice(0, 40);
        found.push(`"${words}" reaches from ${Math.round(box.left)} to ${Math.round(box.right)}`);
        break;
      }
    }
  }
  return found;
}"""

# A box that hides what does not fit in it, or that scrolls sideways.
CUT = """() => [...document.body.querySelectorAll("*")].flatMap((box) => {
  const isSpared = box.closest("svg, .unseen, input, select, textarea, [inert]");
  if (isSpared || !box.checkVisibility()) return [];
  const { overflowX, overflowY } = getComputedStyle(box);
  const wide = overflowX !== "visible" && box.scrollWidth > box.clientWidth + 1;
  const high = overflowY !== "visible" && !/auto|scroll/.test(overflowY) &&
    box.scrollHeight > box.clientHeight + 1;
  if (!wide && !high) return [];
  const words = box.textContent.trim().slice(0, 40);
  return [`${box.className || box.tagName}: ${wide ? "cut at the side" : "cut below"}: "${words}"`];
})"""

# --- Contrast --------------------------------------------------------------------------------

# Measures in the page, so that one round trip tells all of a screen.
STANDS_OUT = """({ text, mark }) => {
  const found = [];
  const parse = (value) => {
    const [r, g, b, a = 1] = value.match(/[\\d.]+/g).map(Number);
    if (!/^rgba?\\(/.test(value)) throw new Error(`Not read: ${value}`);
    return [r, g, b, a];
  };
  const over = ([r, g, b, a], ground) => [r, g, b].map((part, i) => part * a + ground[i] * (1 - a));
  const shown = (element) =>
    element.checkVisibility({ opacityProperty: true, visibilityProperty: true }) &&
    !element.closest(".unseen") && element.getClientRects().length > 0;
  const groundOf = (element) => {
    const layers = [];
    for (let at = element; at; at = at.parentElement) {
      layers.push(parse(getComputedStyle(at).backgroundColor));
      if (layers.at(-1)[3] === 1) break;
    }
    return layers.reverse().reduce((ground, layer) => over(layer, ground), [255, 255, 255]);
  };
  const light = (colour) => {
    const [r, g, b] = colour.map((part) => part / 255).map((part) =>
      part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (one, other) => {
    const [dark, bright] = [light(one), light(other)].sort((a, b) => a - b);
    return (bright + 0.05) / (dark + 0.05);
  };
  const opacityOf = (element) => {
    let whole = 1;
    for (let at = element; at; at = at.parentElement) whole *= Number(getComputedStyle(at).opacity);
    return whole;
  };
  const need = (what, element, colour, ground, least) => {
    const [r, g, b, a] = parse(colour);
    const got = ratio(over([r, g, b, a * opacityOf(element)], ground), ground);
    if (got >= least) return;
    found.push(`${got.toFixed(2)} of ${least}: ${what}, ${colour} on ${ground.map(Math.round)}`);
  };
  const name = (element) => {
    const words = (element.textContent || element.ariaLabel || "").trim().slice(0, 30);
    return `${element.tagName.toLowerCase()}.${element.getAttribute("class") ?? ""} "${words}"`;
  };
  const off = (element) => element.closest(":disabled");

  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const element = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim() || !shown(element) || off(element)) continue;
    need(name(element), element, getComputedStyle(element).color, groundOf(element), text);
  }
  for (const field of document.querySelectorAll("[placeholder]")) {
    if (!shown(field)) continue;
    const { color } = getComputedStyle(field, "::placeholder");
    need("placeholder", field, color, groundOf(field), text);
  }

  // A control's edge: its border, or else its fill, wherever one of them is drawn all around.
  const boxes = "a, button, select, textarea, summary, .choices span, .choice-row, .note, " +
    "input:not([type=radio]):not([type=checkbox])";
  for (const control of document.querySelectorAll(boxes)) {
    if (!shown(control) || off(control) || control.ariaDisabled === "true") continue;
    const style = getComputedStyle(control);
    const around = groundOf(control.parentElement);
    const edge = style.borderTopColor;
    const fill = style.backgroundColor;
    if (parseFloat(style.borderTopWidth) > 0 && parse(edge)[3] > 0) {
      need(`edge of ${name(control)}`, control, edge, around, mark);
    } else if (ratio(over(parse(fill), around), around) > 1 && !control.matches(".veil")) {
      // A fill like the ground is none, and of a veil the note has the edge.
      need(`fill of ${name(control)}`, control, fill, around, mark);
    }
  }
  for (const drawing of document.querySelectorAll("svg.icon, svg.figure .ink, svg.figure .lit")) {
    if (!shown(drawing) || off(drawing)) continue;
    const style = getComputedStyle(drawing);
    const paint = style.stroke === "none" ? style.fill : style.stroke;
    const ground = groundOf(drawing.closest("svg").parentElement);
    const place = drawing.closest("a, button, li, p, div");
    need(`drawing in ${name(place)}`, drawing, paint, ground, mark);
  }
  return found;
}"""

# --- Targets ---------------------------------------------------------------------------------

TARGET = 48
# Each target once: a choice is tapped on its label. Boxes are rounded, as the screen's pixels are.
# A word within a sentence is as high as its line, which WCAG 2.2, 2.5.8 (Inline) allows.
TARGETS = """(least) => {
  const shown = (element) =>
    element.checkVisibility({ visibilityProperty: true }) && !element.closest("[inert]");
  const all = [...document.querySelectorAll(
    "a[href], button:not(.term), select, textarea, summary, [role=option], " +
    "label:has(input[type=radio], input[type=checkbox]), " +
    "input:not([type=radio]):not([type=checkbox])")].filter(shown);
  const name = (element) => {
    const words = (element.textContent || element.ariaLabel || "").trim().slice(0, 30);
    return `${element.tagName.toLowerCase()}.${element.className} "${words}"`;
  };
  const boxes = all.map((element) => [element, element.getBoundingClientRect()]);
  const small = boxes
    .filter(([, box]) => Math.round(box.width) < least || Math.round(box.height) < least)
    .map(([element, { width, height }]) => `${width} x ${height}: ${name(element)}`);
  // What has scrolled out of a list is neither seen nor tapped there.
  const seen = (element, box) => {
    const clip = { left: box.left, right: box.right, top: box.top, bottom: box.bottom };
    for (let at = element.parentElement; at; at = at.parentElement) {
      if (!/auto|scroll/.test(getComputedStyle(at).overflowY)) continue;
      const edge = at.getBoundingClientRect();
      clip.top = Math.max(clip.top, edge.top);
      clip.bottom = Math.min(clip.bottom, edge.bottom);
    }
    return clip;
  };
  const popup = "[role=option]";
  const tapped = boxes.map(([element, box]) => [element, seen(element, box)]);
  const crossed = tapped.flatMap(([one, a], place) => tapped.slice(place + 1)
    .filter(([other, b]) => !one.contains(other) && !one.matches(popup) && !other.matches(popup) &&
      Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
      Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1)
    .map(([other]) => `${name(one)} crosses ${name(other)}`));
  return [...small, ...crossed];
}"""
