// The proportions of a dog, from the marks on its photos; its scripts come when it is opened.

export const routes = { "dog/:id/proportions": proportions };

async function proportions(at) {
  const { proportionsScreen } = await import("../parts/photoscreens.js");
  return proportionsScreen(at);
}
