// Keys that people wrote: a class may be called "constructor", and a list has no such entry.

/** What `map`, a plain object, holds itself under `key`; undefined for nothing.
    @param {Record<string, any> | null | undefined} map
    @param {string | null | undefined} key */
export const held = (map, key) => (map && key != null && Object.hasOwn(map, key) ? map[key] : undefined);
