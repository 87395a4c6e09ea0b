// How the app looks on this phone: kept in localStorage, because it must be known before the first
// paint (early.js) and is nobody else's business.

const KEY = "ringside-look";
export const DEFAULTS = { theme: "light", hand: "right", size: "normal", veil: "6" };

export function look() {
  try {
    return { ...DEFAULTS, ...JSON.parse(localStorage.getItem(KEY) ?? "{}") };
  } catch {
    return { ...DEFAULTS };
  }
}

/** How long (s) what is private is shown. */
export const veilSeconds = () => Number(look().veil) || 6;

export function setLook(name, value) {
  const now = { ...look(), [name]: value };
  try {
    localStorage.setItem(KEY, JSON.stringify(now));
  } catch {
    // Storage refused: the look holds until the app is closed, which harms nobody.
  }
  for (const [key, chosen] of Object.entries(now)) document.documentElement.dataset[key] = chosen;
}
