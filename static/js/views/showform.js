// The form of a show: its days, whose rules it is held under, and where.

import { showProblems } from "../core/bounds.js";
import { localDay } from "../core/words.js";
import { zoneNamed } from "../core/zones.js";
import { clone, fill, icon, on, part, say } from "../dom.js";
import { onSave, show as showValues } from "../forms.js";
import { lastBody } from "../parts/lastbody.js";
import { goInstead } from "../router.js";
import { kinds, rulesBook } from "../shipped.js";
import * as store from "../store.js";

const NAMES = ["name", "body", "member", "day", "until", "closing", "level", "place", "zone"];
const MISSING = {
  name: "Write the name of the show.",
  day: "Enter the day. For a show of several days, enter the first.",
};

export const routes = { "shows/new": showForm, "show/:id/edit": showForm };

async function showForm({ id }) {
  const [{ show: declared }, { bounds, windows }, found, body] = await Promise.all([
    kinds(),
    rulesBook(),
    id ? store.get("show", id) : null,
    lastBody("show"),
  ]);
  if (id && (!found || found.values.deleted)) return null;
  const was = found?.values ?? { body, zone: Intl.DateTimeFormat().resolvedOptions().timeZone };
  const node = fill(clone("show-form"), { back: icon("back"), title: id ? "Edit show" : "New show" });
  part(node, "back").href = id ? `#/show/${id}` : "#/shows";
  const form = part(node, "form");
  offerMembers(form, windows);
  const zones = Intl.supportedValuesOf("timeZone");
  fill(node, { zones: zones.map((zone) => new Option(zone, zone)) });
  showValues(form, was);
  form.elements.body.dispatchEvent(new Event("change"));
  await onSave(node, form, NAMES, declared.fields, {
    missing: MISSING,
    draft: `show ${id ?? "new"}`,
    extra: (values) => ({ ...showProblems(bounds, values, localDay()), ...zoneProblem(values.zone, zones) }),
    save: async (values) => {
      const zone = values.zone && zoneNamed(values.zone, zones);
      goInstead(`show/${await store.write("show", id ?? null, { ...values, zone })}`);
    },
  });
  if (!id) fill(node, { remove: null });
  on(node, "remove", async () => {
    await store.write("show", id, { deleted: true });
    say("Show removed. Bring it back in Settings, under Removed.");
    goInstead("shows");
  });
  return { node, title: id ? "Edit show" : "New show" };
}

const zoneProblem = (zone, zones) =>
  zone && !zoneNamed(zone, zones)
    ? { zone: `No time zone has the name ${zone}. Write a large city near the show, such as Europe/Prague.` }
    : {};

// Only a body with members asks whose wording holds.
function offerMembers({ elements: { body, member } }, { b: known }) {
  for (const [key, { at, of }] of Object.entries(known)) if (of) member.add(new Option(at, key.slice(of.length + 1)));
  body.addEventListener("change", () => {
    const has = Object.values(known).some(({ of }) => of === body.value.toLowerCase());
    if (!has) member.value = "";
    member.closest(".field").hidden = !has;
  });
}
