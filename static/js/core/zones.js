// Time zones by the names of the IANA database, which every browser of ours knows.

/** The zone that `words` name, as it is written, or by its city alone ("prague"); "" for no such zone.
    @param {string[]} zones */
export function zoneNamed(words, zones) {
  const sought = plain(words);
  const cities = zones.filter((zone) => plain(zone.slice(zone.lastIndexOf("/") + 1)) === sought);
  const found = zones.find((zone) => plain(zone) === sought) ?? (cities.length === 1 ? cities[0] : "");
  return found || otherName(words.trim());
}

const plain = (words) => words.trim().toLowerCase().replaceAll("_", " ");

// A zone has former names too, which are on no list. An hour from Greenwich is a name of none.
function otherName(zone) {
  if (!/^[a-z]/i.test(zone)) return "";
  try {
    return new Intl.DateTimeFormat("en", { timeZone: zone }).resolvedOptions().timeZone;
  } catch {
    return "";
  }
}
