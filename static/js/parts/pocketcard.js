// The pocket card on its sheet (templates/pocket/sheet.html), the same on the phone and at the desk:
// its lines are laid onto eight panels, shown as they will be printed, printed, or shared as a picture.

import { layOut, paperOf } from "../core/paper.js";
import { part, say, text } from "../dom.js";
import { sharePicture } from "./picture.js";

// A long note goes over several lines of its own, so that a fold can part it.
const LONGEST = 300;
const PIECES = new RegExp(`[^]{1,${LONGEST}}(?=\\s|$)|[^]{1,${LONGEST}}`, "g");

/** Make the sheet of the dog `name` in `node` work, from when it is on the page: {draw, stop}.
    `draw(lines)` puts other lines on it. */
export function startSheet(node, name) {
  const paper = part(node, "paper");
  paper.value = paperOf(navigator.language);
  let shown = [...part(node, "lines").children];
  let isLaid = false;
  const draw = () => {
    if (!node.isConnected) return; // lines have no height yet
    lay(node, paper.value, shown);
    isLaid = true;
  };
  paper.addEventListener("change", draw);
  part(node, "print").addEventListener("click", () => window.print());
  part(node, "share").addEventListener("click", () =>
    sharePicture([...part(node, "sheet").children], name).catch((error) =>
      say(`The picture was not shared. ${error.message}`),
    ),
  );
  const sizes = new ResizeObserver(() => (isLaid ? scale(node) : draw()));
  sizes.observe(part(node, "frame"));
  return {
    draw(others) {
      shown = others;
      draw();
    },
    stop: () => sizes.disconnect(),
  };
}

function lay(node, paper, lines) {
  const [sheet, source] = [part(node, "sheet"), part(node, "lines")];
  sheet.dataset.paper = paper;
  const panels = [...sheet.children];
  const whole = lines.flatMap(inPieces);
  source.replaceChildren(...whole);
  const measured = whole.map((line) => ({
    height: line.getBoundingClientRect().height,
    group: line.dataset.group ?? "",
    head: /^H\d$/.test(line.tagName),
    rank: Number(line.dataset.rank ?? 0),
  }));
  const style = getComputedStyle(panels[0]);
  const room = panels[0].clientHeight - Number.parseFloat(style.paddingTop) - Number.parseFloat(style.paddingBottom);
  const made = layOut(measured, room, panels.length);
  for (const [number, panel] of panels.entries())
    panel.replaceChildren(...(made.panels[number] ?? []).map((place) => whole[place]));
  source.replaceChildren();
  part(node, "left").textContent = made.left.length
    ? `To fit on one sheet, ${made.left.length === 1 ? "1 line is" : `${made.left.length} lines are`} left out. They are in the app, under Exam card.`
    : "";
  scale(node);
}

function inPieces(line) {
  const words = line.textContent;
  if (words.length <= LONGEST) return [line];
  return words.match(PIECES).map((piece) => {
    const one = text(line.tagName.toLowerCase(), piece.trim(), line.className);
    Object.assign(one.dataset, line.dataset);
    return one;
  });
}

/** Show the sheet as wide as there is room for. */
function scale(node) {
  const [frame, sheet] = [part(node, "frame"), part(node, "sheet")];
  const by = Math.min(1, frame.clientWidth / sheet.offsetWidth);
  sheet.style.setProperty("--scale", String(by));
  frame.style.setProperty("--height", `${sheet.offsetHeight * by}px`);
}
