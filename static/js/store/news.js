// Telling the screens, here and in other windows, that something in the store has changed.

const listeners = new Set();
const channel = opened();

// A browser that blocks the data of sites refuses this too: other windows are then not told, and
// the store says why nothing is kept.
function opened() {
  try {
    return new BroadcastChannel("ringside-store");
  } catch {
    return null;
  }
}

channel?.addEventListener("message", () => announce(false));

/** Call `heard()` after anything in the store has changed, here or in another window. */
export function onChange(heard) {
  listeners.add(heard);
  return () => listeners.delete(heard);
}

export function announce(others = true) {
  for (const heard of listeners) heard();
  if (others) channel?.postMessage("changed");
}
