// A photo on a canvas, near enough to set a mark on it, and a loupe that shows the place of the mark three
// times as large. Places are [x, y] in parts of the picture; a finger moves the mark a quarter as far as it goes.

const LOUPE = 3;
const QUARTER = 4;
const STEP = 1.5; // of a zoom
const NEAREST = 4; // px of the screen a pixel of the picture
const EDGE = 0.22; // of the canvas: nearer to its edge the picture moves along
const HELD = "a, button, input, label, select, summary, textarea";

/** @param {HTMLCanvasElement} canvas @param {HTMLCanvasElement} loupe @param {ImageBitmap} picture
    @param {{span: number, place: number[], dots?: () => number[][], line?: () => number[][] | null,
      moved: (place: number[], isDone: boolean) => number[] | void}} told
    `span` is the part of the picture's width in sight, `place` where the mark is; `dots` and `line` give
    what is drawn beside it; `moved` is called as it is moved, and as that is done */
export function markCanvas(canvas, loupe, picture, { span, place, dots = () => [], line = () => null, moved }) {
  let zoom = 1;
  let at = place;
  let eye = place;

  const size = [picture.width, picture.height];
  const scale = () => {
    const [wide, tall] = [canvas.clientWidth / size[0], canvas.clientHeight / size[1]];
    return Math.min(Math.max((wide / span) * zoom, Math.min(wide, tall)), NEAREST);
  };
  /** @type {(place: number[], of?: number) => number[]} */
  const onCanvas = ([x, y], of = scale()) => [
    (x - eye[0]) * size[0] * of + canvas.clientWidth / 2,
    (y - eye[1]) * size[1] * of + canvas.clientHeight / 2,
  ];

  /** Have the mark in sight, away from the edge. */
  function follow() {
    const of = scale();
    const room = [canvas.clientWidth, canvas.clientHeight];
    const off = onCanvas(at, of).map((where, axis) => {
      const edge = room[axis] * EDGE;
      return where - Math.min(Math.max(where, edge), room[axis] - edge);
    });
    eye = eye.map((part, axis) => part + off[axis] / (size[axis] * of));
  }

  function draw() {
    const pen = sized(canvas);
    if (!pen) return;
    const of = scale();
    follow();
    paint(pen, canvas, of, eye);
    const outline = line();
    if (outline)
      stroke(
        pen,
        outline.map((one) => onCanvas(one, of)),
      );
    for (const dot of dots()) ring(pen, onCanvas(dot, of), 4);
    cross(pen, onCanvas(at, of), 15);
    const glass = sized(loupe);
    if (!glass) return;
    paint(glass, loupe, of * LOUPE, at);
    cross(glass, [loupe.clientWidth / 2, loupe.clientHeight / 2], 26);
  }

  function paint(pen, onto, of, middle) {
    const [wide, tall] = [onto.clientWidth, onto.clientHeight];
    pen.clearRect(0, 0, wide, tall);
    pen.imageSmoothingEnabled = of < 2;
    pen.drawImage(
      picture,
      wide / 2 - middle[0] * size[0] * of,
      tall / 2 - middle[1] * size[1] * of,
      size[0] * of,
      size[1] * of,
    );
  }

  /** Move the mark by so many pixels of the picture. */
  function nudge(x, y, isDone = true) {
    at = [at[0] + x / size[0], at[1] + y / size[1]].map((part) => Math.min(Math.max(part, 0), 1));
    at = moved(at, isDone) ?? at;
    draw();
  }

  function zoomed(by) {
    const before = scale();
    zoom = Math.min(Math.max(zoom * by, 0.1), 20);
    // What the limits let be is not remembered, so that the way back is felt at once.
    if (scale() === before) zoom /= by;
    draw();
  }

  return {
    draw,
    nudge,
    drag: (x, y) => nudge(x / QUARTER / scale(), y / QUARTER / scale(), false),
    dropped: () => nudge(0, 0),
    nearer: () => zoomed(STEP),
    farther: () => zoomed(1 / STEP),
    pinch: zoomed,
    put(to) {
      at = to;
      eye = to;
      draw();
    },
  };
}

/** Fingers anywhere on `page`, but on what is tapped, move the mark of `stage`; two of them zoom. */
export function draggedAnywhere(page, stage) {
  const down = new Map();
  const apart = () => {
    const [one, other] = [...down.values()];
    return Math.hypot(one.x - other.x, one.y - other.y);
  };
  page.addEventListener("pointerdown", (event) => {
    if (event.button > 0 || event.target.closest(HELD) || down.size > 1) return;
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    page.setPointerCapture(event.pointerId);
  });
  page.addEventListener("pointermove", (event) => {
    const from = down.get(event.pointerId);
    if (!from) return;
    const before = down.size > 1 ? apart() : 0;
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (before > 0) stage().pinch(apart() / before);
    else stage().drag(event.clientX - from.x, event.clientY - from.y);
  });
  for (const end of ["pointerup", "pointercancel"])
    page.addEventListener(end, (event) => {
      if (down.delete(event.pointerId) && !down.size) stage().dropped();
    });
}

/** A pen for a canvas, in px of the screen, whatever its density; null while it is not shown. */
export function sized(canvas) {
  const [wide, tall] = [canvas.clientWidth, canvas.clientHeight];
  const pen = wide && tall ? canvas.getContext("2d") : null;
  if (!pen) return null;
  const density = Math.min(devicePixelRatio || 1, 3);
  const [width, height] = [wide, tall].map((side) => Math.round(side * density));
  if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
  pen.setTransform(density, 0, 0, density, 0, 0);
  return pen;
}

/** Lines that can be seen on any ground: white within black. */
export function inked(pen, draw, wide = 2) {
  for (const [colour, width] of [
    ["#000", wide + 2.5],
    ["#fff", wide],
  ]) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.beginPath();
    draw();
    pen.stroke();
  }
}

export const stroke = (pen, points, wide = 2) =>
  inked(
    pen,
    () => {
      for (const [place, [x, y]] of points.entries()) place ? pen.lineTo(x, y) : pen.moveTo(x, y);
    },
    wide,
  );

/** @type {(pen: CanvasRenderingContext2D, place: number[], radius: number) => void} */
export const ring = (pen, [x, y], radius) => inked(pen, () => pen.arc(x, y, radius, 0, 2 * Math.PI));

/** Open in the middle, so that it hides nothing of the point.
    @param {CanvasRenderingContext2D} pen @param {number[]} place @param {number} length */
function cross(pen, [x, y], length) {
  inked(pen, () => {
    for (const [a, b] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ]) {
      pen.moveTo(x + a * 5, y + b * 5);
      pen.lineTo(x + a * length, y + b * length);
    }
  });
}
