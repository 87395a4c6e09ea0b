// The one place that talks to the server. Every request has an end, and every failure a name.

/** The server is out of reach, or cannot answer at the moment: what was asked for is asked later. */
export class Unreachable extends Error {}

// A weak link may take long as long as bytes move, and none of ours is slower than so many a second.
// What was sent moves unseen: it has its time, then each part of the answer has the limit (ms) anew.
const LIMIT = 10_000;
const SLOWEST = 1_000;
const LONGEST = 600_000;
const WORTH_SQUEEZING = 1_000;
let token = null;

/** What the server said, or why it did not: {ok, status, body}. Throws Unreachable. */
export const post = async (path, data, limit = LIMIT) => {
  const { body, headers } = await squeezed(JSON.stringify(data));
  return letIn("POST", path, body, { "Content-Type": "application/json", ...headers }, limit);
};

/** Put `bytes` at `path`, whole: {ok, status, body}. Throws Unreachable. */
export const put = (path, bytes, type) => letIn("PUT", path, bytes, { "Content-Type": type }, LIMIT);

/** The bytes at `path`: {status, bytes}, null for none. Throws Unreachable. */
export async function get(path) {
  const answer = await reach(path, {}, LIMIT);
  return { status: answer.status, bytes: answer.ok ? await answer.arrayBuffer() : null };
}

async function letIn(method, path, body, headers, limit) {
  for (let again = true; ; again = false) {
    if (!token) {
      const said = await session(limit);
      // The book does not let this phone in: there is no use in sending it anything.
      if (said.code) return { ok: false, status: 401, body: said };
      token = said.csrf;
    }
    const answer = await send(method, path, body, headers, limit);
    const isStale = answer.status === 400 && answer.body?.code === "csrf";
    if (isStale || answer.status === 401) token = null;
    if (!isStale || !again) return answer;
  }
}

/** Ask to be let in with a code; the token of what comes after is a new one. */
export async function pair(data) {
  token = (await session(LIMIT)).csrf;
  const answer = await send("POST", "/api/pair", JSON.stringify(data), { "Content-Type": "application/json" }, LIMIT);
  token = null;
  return answer;
}

async function session(limit) {
  const answer = await reach("/api/session", {}, limit);
  if (!answer.ok) throw new Unreachable(`The server answered ${answer.status}.`);
  return answer.json().catch(() => {
    throw new Unreachable("The answer was cut off.");
  });
}

async function send(method, path, body, headers, limit) {
  const answer = await reach(
    path,
    { method, headers: { "X-CSRFToken": token, ...headers }, body },
    limit,
    limit + (1_000 * (body.byteLength ?? body.length)) / SLOWEST,
  );
  const said = await answer.json().catch(() => null);
  return { ok: answer.ok && said !== null, status: answer.status, body: said };
}

/** A body as it is sent: squeezed, where that is worth it and the browser can. */
async function squeezed(text) {
  if (text.length < WORTH_SQUEEZING || !("CompressionStream" in globalThis)) return { body: text, headers: {} };
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"));
  return { body: await new Response(stream).arrayBuffer(), headers: { "Content-Encoding": "gzip" } };
}

async function reach(path, options, limit, first = limit) {
  const stop = new AbortController();
  const after = (wait) => setTimeout(() => stop.abort(), wait);
  const atMost = after(LONGEST);
  let stalled = after(first);
  try {
    const answer = await fetch(path, { ...options, cache: "no-store", signal: stop.signal });
    // The body counts too: a server that stalls halfway must not hold us.
    if (!answer.body) throw new Error(`The server answered ${answer.status}, and nothing else.`);
    const parts = [];
    const reader = answer.body.getReader();
    for (;;) {
      clearTimeout(stalled);
      stalled = after(limit);
      const { done, value } = await reader.read();
      if (done) break;
      parts.push(value);
    }
    return new Response(new Blob(parts), { status: answer.status, headers: answer.headers });
  } catch (error) {
    throw new Unreachable(error.message, { cause: error });
  } finally {
    clearTimeout(stalled);
    clearTimeout(atMost);
  }
}
