// Half-written text, kept as it is typed: it outlives the screen, a kill and a week, and is on this
// phone alone.

const KEY = "ringside-draft ";

/** What was half written under a name, "" for nothing. */
export function draft(name) {
  try {
    return localStorage.getItem(KEY + name) ?? "";
  } catch {
    return "";
  }
}

/** Keep what is half written; nothing is kept of an empty text. */
export function keepDraft(name, text) {
  try {
    if (text) localStorage.setItem(KEY + name, text);
    else localStorage.removeItem(KEY + name);
  } catch {
    // Storage refused or full: the text is still on the screen.
  }
}
