// Runs before the first paint, so that a dark app never flashes white. The rest is in look.js. The page is
// parsed meanwhile: browsers that know the word wait with the paint alone, to the others it comes first anyway.
try {
  const look = JSON.parse(localStorage.getItem("ringside-look") ?? "{}");
  for (const [name, value] of Object.entries(look)) document.documentElement.dataset[name] = value;
} catch {
  // No storage: the light default stands.
}
