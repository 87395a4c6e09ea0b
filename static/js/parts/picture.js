// A picture of the pocket card: the words of its panels, drawn where the page has put them.

import { say } from "../dom.js";

const ACROSS = 2; // panels stand in two columns, as on the sheet
const SHARP = 2; // dots of the picture to a px of the sheet
const LIFE = 10_000; // ms until a saved picture is let go of

/** Hand the picture to the phone's share sheet, or save it where there is none. */
export async function sharePicture(panels, name) {
  const blob = await pictureOf(panels);
  const file = new File([blob], `${name}.png`, { type: "image/png" });
  if (navigator.canShare?.({ files: [file] })) {
    await navigator.share({ files: [file], title: name }).catch(stopped);
    return;
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), LIFE);
  say("Picture saved.");
}

/** Whoever closes the share sheet changed their mind. */
function stopped(error) {
  if (error.name !== "AbortError") throw error;
}

/** A PNG of the panels, white and sharp enough to be enlarged. */
async function pictureOf(panels) {
  const [wide, high, down] = [panels[0].offsetWidth, panels[0].offsetHeight, panels.length / ACROSS];
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [Math.round(ACROSS * wide * SHARP), Math.round(down * high * SHARP)];
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  pen.scale(SHARP, SHARP);
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, ACROSS * wide, down * high);
  for (const [number, panel] of panels.entries()) {
    pen.save();
    pen.translate(Math.floor(number / down) * wide, (number % down) * high);
    pen.strokeStyle = "#bbb";
    pen.strokeRect(0, 0, wide, high);
    drawWords(pen, panel, panel.getBoundingClientRect(), wide);
    pen.restore();
  }
  return new Promise((resolve, reject) => {
    const made = (blob) => (blob ? resolve(blob) : reject(new Error("This browser does not draw the picture.")));
    canvas.toBlob(made, "image/png");
  });
}

/** Each word by itself at the place it has within `frame`; the page may show the panel smaller. */
function drawWords(pen, panel, frame, wide) {
  const by = wide / frame.width;
  const texts = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  pen.fillStyle = "#000";
  pen.textBaseline = "alphabetic";
  while (texts.nextNode()) {
    const { currentNode: node } = texts;
    const { fontWeight, fontSize, fontFamily } = getComputedStyle(/** @type {Element} */ (node.parentElement));
    if (node.parentElement?.tagName === "H2") underline(pen, node.parentElement.getBoundingClientRect(), frame, by);
    pen.font = `${fontWeight} ${fontSize} ${fontFamily}`;
    for (const word of node.textContent?.matchAll(/\S+/g) ?? []) {
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const box = range.getBoundingClientRect();
      const { fontBoundingBoxAscent: above } = pen.measureText(word[0]);
      pen.fillText(word[0], (box.left - frame.left) * by, (box.top - frame.top) * by + above);
    }
  }
}

function underline(pen, box, frame, by) {
  pen.fillRect((box.left - frame.left) * by, (box.bottom - frame.top) * by - 1.5, box.width * by, 1.5);
}
