// The parts that a dog's drawing is put together from, and the rule they follow.
//
// A dog stands in profile and looks to the right. Its buttock is at x 0, the ground at y 0, y goes
// upwards, and the withers of one on medium legs are 100 high. A point is [x, y]; a third entry 1
// makes it a corner.
//
// - A body gives the anchors: `nape` (where the head begins), `crest` (down to the withers),
//   `withers`, `back`, `loin`, `croup`, `root` (of the tail), `buttock`, `flank`, `belly`, `brisket`,
//   `chest`, `front` (of the neck) and `elbow`. `bone` is how thick its legs are, `hock` how far its
//   hocks are brought forward, `head` the size of the head, `leg` the share of the usual legs.
// - Bodies are drawn on medium legs. Others take their measure between the feet (9 high) and the
//   elbow (49); all above is lifted or lowered with it.
// - A head is told from the nape, an ear from the head's `ear`, both in the head's size; a tail from
//   the root; the legs from elbow and buttock. The body's outline runs from the nape over the nose,
//   down the chest, round the legs and back in one line, so nothing has to meet. An ear or a tail
//   is open where it grows, and its ground covers the line below: there is no seam.
// - A coat lifts the outline region by region and lays locks or curls on it.
//
// To add a part: write it here under its name, add the name to `Drawing` in
// ringside/knowledge/schema.py, and look at it on every body. tests/browser/test_figures.py holds
// each breed's drawing to the page, to the ground and to its anchors.

// biome-ignore format: a table

// biome-ignore format: a table
export const BODIES = {
  square: {
    nape: [90, 131], crest: [[86, 119], [80, 108]], withers: [71, 100.5], back: [54, 97.8], loin: [35, 98],
    croup: [18, 96.5], root: [5, 90], buttock: [0, 79], flank: [30, 58], belly: [50, 51.5], brisket: [66, 48],
    chest: [99.5, 73], front: [[97.5, 90]], elbow: [73, 50], bone: 1, hock: 0, head: 1.1,
  },
  rectangular: {
    nape: [98, 130], crest: [[94, 118], [87.5, 107.5]], withers: [78, 100.5], back: [58, 97.8], loin: [37, 98],
    croup: [19, 96.5], root: [5, 90], buttock: [0, 79], flank: [31, 58], belly: [54, 51.5], brisket: [72, 48],
    chest: [107, 73], front: [[105.5, 90]], elbow: [80, 50], bone: 1, hock: 0, head: 1.09,
  },
  long: {
    nape: [118, 128], crest: [[114, 116], [107.5, 106]], withers: [97, 100], back: [72, 97.4], loin: [42, 98],
    croup: [20, 96.5], root: [5, 90], buttock: [0, 79], flank: [33, 56], belly: [64, 50.5], brisket: [89, 46.5],
    chest: [128.5, 70], front: [[126.5, 86]], elbow: [99, 50], bone: 1.08, hock: 0, head: 1.12,
  },
  cobby: {
    nape: [80, 121], crest: [[78, 112.5], [73, 105.5]], withers: [65, 101], back: [51, 99], loin: [34, 99],
    croup: [17, 97], root: [3.5, 91], buttock: [-2, 78], flank: [29, 51], belly: [46, 45], brisket: [62, 42],
    chest: [97, 67], front: [[96, 79]], elbow: [69, 47], bone: 1.15, hock: 3, head: 1.3, leg: 0.84,
  },
  heavy: {
    nape: [94, 129], crest: [[90.5, 118], [83.5, 107.5]], withers: [73, 101], back: [55, 97.5], loin: [36, 98],
    croup: [18, 96.5], root: [4, 88], buttock: [-2, 77], flank: [31, 53], belly: [52, 46], brisket: [68, 43],
    chest: [105, 69], front: [[106, 84]], elbow: [76, 48], bone: 1.28, hock: 1, head: 1.24,
  },
  light: {
    nape: [89, 136], crest: [[83, 121.5], [77, 108.5]], withers: [68, 100.5], back: [53, 97.5], loin: [34, 98.5],
    croup: [17, 95], root: [4, 87], buttock: [0, 78], flank: [30, 66], belly: [46, 55], brisket: [63, 45.5],
    chest: [93, 70], front: [[93, 90]], elbow: [70, 51], bone: 0.86, hock: -2, head: 1,
  },
};

/** How far the elbow is from the ground. */
export const LEGS = { short: 23, medium: 49, long: 56 };

/** `outline` from the nape over the nose to the throat; `ear` is where it grows. */
// biome-ignore format: a table
export const HEADS = {
  plain: {
    outline: [[6, 4], [13, 5], [18.5, 3], [21.5, -2], [28, -3.5], [35.5, -4], [39, -5.5], [40, -8], [38.5, -11],
    [39.5, -15], [36.5, -19], [30, -20], [22.5, -20.5], [14.5, -22.5]], throat: [8.5, -29], eye: [19, -3.5],
    nose: [[36, -4.5], [39, -5.5], [40, -8], [38.5, -10.5], [36.5, -8.5]],
    mouth: [[38.5, -13.5], [32, -16], [25.5, -15]], ear: [5, -0.5],
  },
  wedge: {
    outline: [[7, 4], [14, 4.5], [18.5, 2], [21.5, -2.5], [28, -5], [34, -6.5], [36.5, -7.5], [37, -10], [35.5, -12],
    [35, -14.5], [32.5, -16.5], [26, -17.5], [20, -19], [13, -21.5]], throat: [7, -28], eye: [18.5, -3],
    nose: [[34, -6.5], [36.5, -7.5], [37, -10], [36, -11.5], [34, -10]], mouth: [[35, -13.5], [29, -14.5], [24, -13]],
    ear: [7.5, 2.5],
  },
  fine: {
    outline: [[8, 2.5], [16, 2], [22, 0], [28, -2.5], [36, -4.5], [44, -6.5], [47.5, -8], [48.5, -10], [47, -12],
    [45, -14.5], [39, -15.5], [30, -17], [22, -18.5], [14, -20.5]], throat: [7, -27], eye: [21, -4],
    nose: [[44.5, -7], [47.5, -8], [48.5, -10], [47, -12], [45, -10]], mouth: [[46, -13], [37, -13], [29, -12]],
    ear: [6, -2],
  },
  hound: {
    outline: [[6, 3.5], [13, 5], [18.5, 3], [22.5, -1.5], [30, -3], [38, -4], [41.5, -5.5], [42.5, -8.5], [40.5, -11],
    [41.5, -16], [38, -21], [31, -22.5], [25, -21], [16, -23]], throat: [10, -32], eye: [20, -3.5],
    nose: [[38, -4], [41.5, -5.5], [42.5, -8.5], [40.5, -10.5], [39, -8]],
    mouth: [[40.5, -13], [32, -16.5], [26.5, -17.5]], ear: [5, -4],
  },
  broad: {
    outline: [[7, 5.5], [14.5, 6], [19.5, 3], [22, -2.5], [28, -3.5], [34, -4], [37, -5.5], [38, -8.5], [36, -10.5],
    [37.5, -16], [34.5, -21], [27.5, -22.5], [22, -21], [14, -23]], throat: [9, -31], eye: [19.5, -3.5],
    nose: [[34, -4], [37, -5.5], [38, -8.5], [36, -10.5], [34.5, -8]], mouth: [[36, -12.5], [29, -16.5], [24.5, -17]],
    ear: [6, -0.5],
  },
  short: {
    outline: [[7, 5.5], [14.5, 6], [20, 3], [22, -2.5], [26, -3], [30, -2], [32.5, -4], [32, -7.5], [31, -9.5],
    [33, -14], [33, -18], [29.5, -21], [22, -22], [14, -23.5]], throat: [8, -30], eye: [19, -4],
    nose: [[29, -2.5], [32.5, -4], [32, -7.5], [30.5, -8.5], [29, -6]], mouth: [[32, -12.5], [28, -16], [23.5, -18]],
    ear: [6, 0],
  },
  round: {
    outline: [[5, 6], [11.5, 8.5], [18.5, 6], [21, 0], [22, -3.5], [27, -4.5], [30.5, -5.5], [31.5, -8], [30, -10],
    [30, -12.5], [27.5, -14.5], [21, -16], [16, -18], [10.5, -20.5]], throat: [6, -27], eye: [17, -3.5],
    nose: [[28, -5], [30.5, -5.5], [31.5, -8], [30, -9.5], [28.5, -8]],
    mouth: [[30, -11.5], [25, -13], [20.5, -11.5]], ear: [5.5, 3.5],
  },
  flat: {
    outline: [[6, 5.5], [13.5, 6.5], [19.5, 4], [22.5, 0], [23.5, -3], [25.5, -4], [26.5, -6], [25.5, -8.5],
    [27.5, -12], [28, -16.5], [24.5, -20.5], [18.5, -22.5], [11, -23.5]], throat: [9, -27], eye: [19.5, -4],
    nose: [[23, -3], [25.5, -4], [26.5, -6], [25.5, -8], [23, -6.5]],
    mouth: [[27, -12.5], [24, -13.5], [20.5, -17.5]], ear: [6.5, 0.5],
  },
};

/** `behind` is where the other ear stands. `winged` is a fringed one that stands. */
// biome-ignore format: a table
export const EARS = {
  prick: {
    outline: [[6.5, -2.5], [7.5, 5.5], [4.5, 16, 1], [-4, 8], [-7, -3.5]],
    inner: [[2.5, -0.5], [3.5, 5.5], [3, 10.5]], behind: [9, 0],
  },
  bat: {
    outline: [[6.5, -2.5], [9.5, 7], [8, 15.5], [4, 19.5], [-2, 15.5], [-5.5, 7], [-7, -3.5]],
    inner: [[3, 0], [4, 7], [3, 13]], behind: [9, 0.5],
  },
  tipped: {
    outline: [[5, -2.5], [6.5, 5], [12.5, 3.5, 1], [7, 12], [2.5, 13], [-3, 7.5], [-6, -3]],
    inner: [[7, 5], [4, 9], [2.5, 12.5]], behind: [7.5, 0.5],
  },
  button: {
    outline: [[-5.5, 0.5], [-3.5, 5], [1, 7], [5.5, 5], [9.5, -6.5, 1], [3.5, -5], [-2.5, -2.5]], inner: null,
    behind: [7, 1],
  },
  rose: {
    outline: [[4, 1.5], [0, 5], [-6.5, 4], [-10.5, -2.5, 1], [-5, -3], [0.5, -3.5]],
    inner: [[-8.5, -1], [-4, 1.5], [0.5, 0.5]], behind: null,
  },
  drop: {
    outline: [[-4.5, 1.5], [0, 4], [5.5, 2], [7.5, -4], [7.5, -12], [4.5, -17.5], [0, -15], [-4, -8], [-6, -2.5]],
    inner: null, behind: null,
  },
  long: {
    outline: [[-4, 2.5], [2, 3], [6.5, -2.5], [10, -15], [8.5, -27], [2.5, -32.5], [-3.5, -28], [-6.5, -16],
    [-6, -6]], inner: [[3, -6], [4, -15], [3.5, -24]], behind: null,
  },
  fringed: {
    outline: [[-3.5, 1], [1.5, 3], [7.5, -0.5], [9.5, -10], [8, -22], [2, -30], [-4, -26], [-7, -14], [-6, -6]],
    inner: [[2.5, -6], [3, -14], [2, -23]], behind: null,
  },
  winged: {
    outline: [[6.5, -2.5], [10, 7], [9, 18], [3, 25, 1], [-7, 22], [-15, 12], [-16, 0], [-9, -7]],
    inner: [[2, 0], [1.5, 9], [-1.5, 16]], behind: [11, -2],
  },
};

/** `spine` and, at each of its points, half the width. `plumed` is a curled one that is well coated. */
// biome-ignore format: a table
export const TAILS = {
  curled: { spine: [[-5, 8], [-1, 18], [9, 18.5], [13, 10], [6, 6]], widths: [4.2, 3.8, 3.4, 2.8, 1] },
  plumed: { spine: [[-4, 9], [2, 17], [14, 17], [26, 9], [30, 4]], widths: [5, 6, 6, 4, 0.5] },
  sickle: { spine: [[-8, 5], [-15, 14], [-17, 26], [-11, 37]], widths: [3.9, 3.3, 2.5, 0.8] },
  upright: { spine: [[-1, 9], [-2, 19], [-0.6, 30]], widths: [3.8, 3.2, 1.2] },
  level: { spine: [[-10, -2], [-24, -5], [-40, -4]], widths: [4.4, 3.6, 0.8] },
  hanging: { spine: [[-6.5, -9], [-11, -24], [-13, -41], [-20, -54]], widths: [4, 3.4, 2.6, 0.8] },
  whip: { spine: [[-8, -9], [-14.5, -26], [-18, -44], [-26, -56], [-37, -54]], widths: [2.7, 2.1, 1.6, 1.2, 0.5] },
  short: { spine: [[-3.6, 3], [-7, 9]], widths: [3.6, 2] },
  screw: { spine: [[-4, -1], [-5.4, 4], [-1, 6], [1, 3]], widths: [3, 2.6, 2, 1] },
};

/** What the topline adds to the height of withers, back, loin, croup and root. */
// biome-ignore format: a table
export const TOPLINES = {
  level: [0, 0, 0, 0, 0],
  sloping: [1.5, 0, -2, -4.5, -6],
  arched: [-0.5, -0.5, 4, 1.5, -3.5],
  dip: [0, -3, -1, 1, 0],
};

/** From the elbow, down and round the foot. */
// biome-ignore format: a table
export const FORELEG = {
  front: [[19.5, 9], [15.5, -2], [14, -14], [13, -26], [13, -37.5]],
  foot: [[15.5, -42], [18.5, -46], [18.5, -49.5], [12, -50], [5, -49.5], [4, -45.5], [5, -39]],
  back: [[4, -26], [2.5, -12]],
};

/** From below the buttock, on the ground. */
// biome-ignore format: a table
export const HINDLEG = {
  front: [[26, 49], [14, 38], [3.5, 28]],
  foot: [[0, 18], [0.5, 9.5], [4.5, 6.5], [7.5, 3], [7, 0.5], [0, 0], [-6.5, 0.5], [-7.5, 4.5], [-7.5, 12]],
  back: [[-9, 21], [-11.5, 27.5], [-8.5, 33], [0, 44], [3, 56], [1, 68]],
};

/** For each region of the outline: [how far the coat lifts it, length and distance of its locks]. */
// biome-ignore format: a table
export const COATS = {
  smooth: { kind: "lock" },
  hairless: { kind: "lock", skull: [1.5, 3, 5], nape: [1.5, 4, 7] },
  double: {
    kind: "lock", nape: [6, 3, 14], back: [3.5, 0, 0], croup: [3.5, 3, 12], throat: [7, 4.5, 10], chest: [8, 5.5, 10],
    fore: [1.2, 0, 0], foreback: [2, 4, 11], belly: [4, 4.5, 11], stifle: [2, 0, 0], breech: [5.5, 5.5, 10],
    hind: [1.5, 0, 0], tail: [5, 5, 9],
  },
  wire: {
    kind: "lock", nape: [1.2, 2.2, 8], back: [1.2, 1.8, 9], croup: [1.2, 2, 8], throat: [1, 2.4, 7],
    chest: [2, 3.2, 6.5], fore: [2.4, 2, 8], foreback: [2.4, 3, 7], belly: [2.4, 4, 7], stifle: [2, 2, 8],
    breech: [2, 2.6, 8], hind: [2, 2.2, 8], tail: [0.8, 2.4, 7],
  },
  long: {
    kind: "lock", hem: [0, 4, 12], fall: [0, 4, 17], nape: [3, 2.4, 13], back: [1.6, 0, 0], croup: [2, 3, 13],
    throat: [4.5, 6, 9], chest: [6, 7, 9], fore: [1, 0, 0], foreback: [2, 7.5, 9], belly: [3, 8, 9.5],
    stifle: [1.5, 0, 0], breech: [4, 8.5, 9], hind: [1, 3, 9], tail: [4, 9, 9],
  },
  silky: {
    kind: "lock", hem: [0, 4, 12], fall: [0, 4, 17], throat: [1, 2, 9], chest: [3, 6.5, 9], foreback: [1.5, 7, 9],
    belly: [2, 7.5, 9.5], breech: [2.5, 7.5, 9], tail: [2, 9, 9],
  },
  curly: {
    kind: "curl", skull: [4.5, 2.6, 7], nape: [3.4, 2.4, 7.5], back: [3, 2, 8], croup: [3, 2.2, 7.5],
    throat: [2, 2, 7], chest: [3.4, 2.6, 7.5], fore: [2.6, 1.8, 8], foreback: [2.6, 2, 7.5], belly: [3, 2.4, 8],
    stifle: [2.6, 2, 8], breech: [3, 2.4, 7.5], hind: [2.6, 2, 8], tail: [2.4, 2.2, 7],
  },
  corded: {
    kind: "curl", hem: [0, 5, 7], fall: [0, 3.4, 9], skull: [5, 3, 6], nape: [4, 3, 5], back: [3, 2.4, 6],
    croup: [3, 2.6, 5], throat: [4, 4, 5], chest: [5, 4, 5], tail: [5, 4, 5],
  },
};
