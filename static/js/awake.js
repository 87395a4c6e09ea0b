// Keeps the screen on while a card is open. The system may refuse, and drops the hold whenever the
// app is hidden, so it is asked for again each time it is seen.

let wanted = false;
let lock = null;

/** Ask for it. Gives whether the screen will stay on. */
export async function stayAwake() {
  wanted = true;
  return hold();
}

export function maySleep() {
  wanted = false;
  lock?.release().catch(() => {});
  lock = null;
}

async function hold() {
  try {
    const fresh = await navigator.wakeLock.request("screen");
    lock?.release().catch(() => {});
    lock = fresh;
    fresh.addEventListener?.("release", () => {
      if (lock === fresh) lock = null;
    });
    if (!wanted) maySleep();
    return true;
  } catch {
    return false;
  }
}

// Some systems grant it only after a tap, so one that was refused is asked for again at the next.
document.addEventListener("pointerup", () => wanted && !lock && hold());

document.addEventListener("visibilitychange", () => {
  if (document.hidden) lock = null;
  else if (wanted) hold();
});
