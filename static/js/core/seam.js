// The outline between two marks, proposed from the picture: the path along which what is above differs
// most from what is below, by dynamic programming. A proposal only: on grass or gravel of the dog's own
// colour it leaves the dog, so that a person looks at it and draws it anew.

const COLUMNS = 160;
const BAND = 40; // pixels to each side of the chord
const MEAN = 7; // pixels above and below
const STEP = 2; // rows between two columns
const SLACK = 10; // pixels, by which the line may miss the marks at its ends
const ROWS = 2 * BAND + 1;
const NEVER = -1e6;
const TALL = ROWS + 2 * MEAN;

/** Look for the outline in a picture that is best 1,024 pixels wide: {data (RGBA), width, height}. `from` and
    `to` are in its pixels. Gives what gives `count` points of it, evenly between the two, on a line that goes
    `through` the points somebody has set.
    @param {{data: ArrayLike<number>, width: number, height: number}} picture
    @param {number[]} from @param {number[]} to
    @returns {(count?: number, through?: number[][]) => number[][]} */
export function seam(picture, from, to) {
  const chord = [to[0] - from[0], to[1] - from[1]];
  const long = Math.hypot(chord[0], chord[1]);
  if (!(long > 0)) return () => [];
  const turn = chord[0] < 0 ? -1 : 1; // so that up is where y gets less
  const up = [(turn * chord[1]) / long, (-turn * chord[0]) / long];
  const at = (s, off) => [from[0] + s * chord[0] + off * up[0], from[1] + s * chord[1] + off * up[1]];
  const strength = edges(picture, at);
  return (count = 13, through = []) => {
    const set = through.map(([x, y]) => {
      const way = [x - from[0], y - from[1]];
      const s = (way[0] * chord[0] + way[1] * chord[1]) / long ** 2;
      return [Math.round(s * (COLUMNS - 1)), Math.round(BAND - way[0] * up[0] - way[1] * up[1])];
    });
    const rows = bestPath(set.length ? led(strength, set) : strength);
    return Array.from({ length: count }, (_, k) => {
      const s = (k + 1) / (count + 1);
      return at(s, BAND - rowAt(rows, s * (COLUMNS - 1)));
    });
  };
}

/** The strengths, with those of the columns `set` [column, row] nothing but near that row. */
function led(strength, set) {
  const found = strength.slice();
  for (const [column, near] of set) {
    for (let row = 0; row < ROWS; row += 1) {
      if (Math.abs(row - near) > 1) found[column * ROWS + row] = NEVER;
    }
  }
  return found;
}

/** How much the mean colour above each row differs from that below it, column by column. */
function edges(picture, at) {
  const strength = new Float32Array(COLUMNS * ROWS);
  const sums = new Float64Array(3 * (TALL + 1));
  for (let column = 0; column < COLUMNS; column += 1) {
    for (let row = 0; row < TALL; row += 1) {
      const [x, y] = at(column / (COLUMNS - 1), BAND + MEAN - row);
      addColour(picture, x, y, sums, 3 * row);
    }
    for (let row = 0; row < ROWS; row += 1) {
      let square = 0;
      for (let top = 3 * row; top < 3 * row + 3; top += 1) {
        const middle = top + 3 * MEAN;
        const above = sums[middle] - sums[top];
        const below = sums[middle + 3 * MEAN + 3] - sums[middle + 3];
        square += (above - below) ** 2;
      }
      strength[column * ROWS + row] = Math.sqrt(square) / MEAN;
    }
  }
  return strength;
}

/** Write at `to + 3` what stands at `to`, and the LAB colour of a pixel added; beyond the picture its edge. */
function addColour({ data, width, height }, x, y, sums, to) {
  const column = Math.min(Math.max(Math.round(x), 0), width - 1);
  const row = Math.min(Math.max(Math.round(y), 0), height - 1);
  const at = 4 * (row * width + column);
  const [r, g, b] = [LINEAR[data[at]], LINEAR[data[at + 1]], LINEAR[data[at + 2]]];
  const fx = cube((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  const fy = cube(0.2126 * r + 0.7152 * g + 0.0722 * b);
  const fz = cube((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  sums[to + 3] = sums[to] + 116 * fy;
  sums[to + 4] = sums[to + 1] + 500 * (fx - fy);
  sums[to + 5] = sums[to + 2] + 200 * (fy - fz);
}

// IEC 61966-2-1 (sRGB) and CIE 1976 L*a*b*.
const LINEAR = Float64Array.from({ length: 256 }, (_, k) =>
  k <= 10 ? k / 255 / 12.92 : ((k / 255 + 0.055) / 1.055) ** 2.4,
);
const cube = (t) => (t > 0.008856 ? Math.cbrt(t) : 7.787 * t + 16 / 116);

/** The row of each column, of the path whose edges are strongest. */
function bestPath(strength) {
  const came = new Int8Array(COLUMNS * ROWS);
  const isEnd = (row) => Math.abs(row - BAND) <= SLACK;
  let best = Float64Array.from({ length: ROWS }, (_, row) => (isEnd(row) ? strength[row] : -Infinity));
  for (let column = 1; column < COLUMNS; column += 1) {
    const next = new Float64Array(ROWS);
    for (let row = 0; row < ROWS; row += 1) {
      let from = 0;
      let most = best[row];
      for (let step = Math.max(-STEP, -row); step <= Math.min(STEP, ROWS - 1 - row); step += 1) {
        if (best[row + step] > most) {
          most = best[row + step];
          from = step;
        }
      }
      next[row] = most + strength[column * ROWS + row];
      came[column * ROWS + row] = from;
    }
    best = next;
  }
  let row = BAND - SLACK;
  for (let other = row; other <= BAND + SLACK; other += 1) if (best[other] > best[row]) row = other;
  const rows = new Int16Array(COLUMNS);
  for (let column = COLUMNS - 1; column >= 0; column -= 1) {
    rows[column] = row;
    row += came[column * ROWS + row];
  }
  return rows;
}

/** The row between two columns. */
function rowAt(rows, column) {
  const before = Math.floor(column);
  const after = Math.min(before + 1, COLUMNS - 1);
  return rows[before] + (column - before) * (rows[after] - rows[before]);
}
