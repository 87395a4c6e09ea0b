// The field one finds a breed in, by any of its names as one types, and what is said beneath it.

import { breedNamed, findBreeds, plain } from "../core/breeds.js";
import { clone, part, text } from "../dom.js";

// More than these are found sooner by another letter.
const MOST = 40;
const MOST_NEAR = 5;

/** What was typed: the breed it names, and whether no breed is called so or begins so. */
export function meant(breeds, typed) {
  const known = breedNamed(breeds, typed);
  const isStrange = !known && Boolean(plain(typed)) && findBreeds(breeds, typed).every(({ near }) => near);
  return { known, isStrange };
}

/** Let the field `breed` of a form be a list to choose from, all breeds while it is empty. `chosen` is
    called whenever it says something else. */
export function breedField(node, input, breeds, chosen) {
  const list = part(node, "options");
  const hint = part(node, "hint-breed");
  const usual = hint.textContent;
  let active = -1;
  const options = () => [...list.children];

  function show() {
    const found = findBreeds(breeds, input.value);
    const isAll = !plain(input.value);
    const most = isAll ? found.length : found[0]?.near ? MOST_NEAR : MOST;
    const isDone = found.length === 1 && plain(found[0].breed.name) === plain(input.value);
    list.replaceChildren(...(isDone ? [] : found.slice(0, most).map(option)));
    const open = list.childElementCount > 0;
    list.hidden = !open;
    list.scrollTop = 0;
    input.setAttribute("aria-expanded", String(open));
    mark(-1);
  }

  function option({ breed, by }, place) {
    const item = clone("option");
    item.id = `f-breed-option-${place}`;
    item.dataset.name = breed.name;
    item.append(text("span", breed.name), ...(by ? [text("span", by, "by")] : []));
    return item;
  }

  function mark(place) {
    options()[active]?.setAttribute("aria-selected", "false");
    active = place;
    const item = options()[active];
    if (!item) return input.removeAttribute("aria-activedescendant");
    item.setAttribute("aria-selected", "true");
    input.setAttribute("aria-activedescendant", item.id);
    item.scrollIntoView({ block: "nearest" });
  }

  function pick(name) {
    input.value = name;
    close();
    changed();
  }

  function close() {
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    mark(-1);
  }

  function changed() {
    tell();
    chosen();
  }

  // Beneath the field, and so read out with it: that no breed is called so, and which is nearly.
  function tell() {
    const { isStrange } = meant(breeds, input.value);
    const near = isStrange ? findBreeds(breeds, input.value)[0]?.breed.name : "";
    hint.classList.remove("wrong");
    input.removeAttribute("aria-invalid");
    hint.textContent = hint.dataset.usual = isStrange ? STRANGE : usual;
    if (near) hint.replaceChildren("Did you mean ", offer(near), `? ${STRANGE}`);
  }

  function offer(name) {
    const button = text("button", name, "in-words");
    button.setAttribute("type", "button");
    button.addEventListener("click", () => pick(name));
    return button;
  }

  // Pressing on the list must not take the focus out of the field, and so close the list.
  list.addEventListener("pointerdown", (event) => event.preventDefault());
  list.addEventListener("click", (event) => {
    const item = /** @type {HTMLElement} */ (event.target).closest("li");
    if (item) pick(item.dataset.name);
  });
  input.addEventListener("input", () => {
    show();
    changed();
  });
  for (const type of ["focus", "click"])
    input.addEventListener(type, () => !plain(input.value) && list.hidden && show());
  input.addEventListener("blur", close);
  input.addEventListener("keydown", (event) => {
    const count = list.hidden ? 0 : list.childElementCount;
    if (event.key === "ArrowDown" && count) mark((active + 1) % count);
    else if (event.key === "ArrowDown") show();
    else if (event.key === "ArrowUp" && count) mark(active > 0 ? active - 1 : count - 1);
    else if (event.key === "Enter" && active >= 0) pick(/** @type {HTMLElement} */ (options()[active]).dataset.name);
    else if (event.key === "Escape" && count) close();
    else return;
    event.preventDefault();
  });
  tell();
}

const STRANGE =
  "We do not know this breed, so the dog gets the general card. Tick below if its face is short, and choose table or ground.";

/** Offer the varieties of a breed in a select, as far as it has any; what was chosen stays chosen. */
export function offerVarieties(node, select, breed) {
  const names = breed?.varieties ?? [];
  const was = select.value;
  select.replaceChildren(new Option("Not said", ""), ...names.map((name) => new Option(name, name)));
  select.value = names.includes(was) ? was : "";
  part(node, "variety").hidden = names.length === 0;
}
