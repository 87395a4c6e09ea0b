// Telling the screens, here and in other windows, that something in the store has changed.

const listeners = new Set();
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("ringside-store") : null;

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
