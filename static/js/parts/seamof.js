// The edge of the back in a picture, as far as there is one: core/seam.js on the pixels about the line.

/** What gives, for so many points evenly between `ends` (pixels), how far each is off the line between them,
    through those of `fixed`. */
export function proposal(picture, ends) {
  return (count, fixed) => Array.from({ length: count }, (_, at) => fixed.get(at) ?? 0);
}
