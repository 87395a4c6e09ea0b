// Runs before the first paint, so that a dark app never flashes white. The rest is in look.js.
try {
  const look = JSON.parse(localStorage.getItem("ringside-look") ?? "{}");
  for (const [name, value] of Object.entries(look)) document.documentElement.dataset[name] = value;
} catch {
  // No storage: the light default stands.
}
