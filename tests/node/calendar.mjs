// Reads a calendar file (standard input) with ical.js, a reader of another family than Python's, and tells
// its events as JSON: node calendar.mjs PATH-TO-ICAL.JS

import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const { default: ICAL } = await import(pathToFileURL(process.argv[2]).href);
const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));
for (const zone of calendar.getAllSubcomponents("vtimezone")) ICAL.TimezoneService.register(zone);

const told = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component);
  const alarms = component.getAllSubcomponents("valarm");
  return {
    uid: event.uid,
    summary: event.summary,
    words: event.description ?? "",
    place: event.location ?? "",
    sequence: event.sequence,
    whole: event.startDate.isDate,
    begins: event.startDate.isDate ? event.startDate.toString() : event.startDate.toJSDate().toISOString(),
    ends: event.endDate.isDate ? event.endDate.toString() : event.endDate.toJSDate().toISOString(),
    rings: alarms.map((alarm) => alarm.getFirstPropertyValue("trigger").toSeconds()),
  };
});
process.stdout.write(JSON.stringify(told));
