// The one place that talks to the server. Every request has an end, and every failure a name.

/** The server is out of reach, or cannot answer at the moment: what was asked for is asked later. */
export class Unreachable extends Error {}

// A weak link may take long for an answer as long as it gets on with it, but not for ever.
const LIMIT = 8_000;
const LIMITS_IN_ALL = 15;
let token = null;

/** What the server said, or why it did not: {ok, status, body}. Throws Unreachable. */
export async function post(path, data, limit = LIMIT) {
  for (let again = true; ; again = false) {
    if (!token) {
      const said = await session(limit);
      // The book does not let this phone in: there is no use in sending it anything.
      if (said.code) return { ok: false, status: 401, body: said };
      token = said.csrf;
    }
    const answer = await send(path, data, limit);
    const isStale = answer.status === 400 && answer.body?.code === "csrf";
    if (isStale || answer.status === 401) token = null;
    if (!isStale || !again) return answer;
  }
}

/** Ask to be let in with a code; the token of what comes after is a new one. */
export async function pair(data) {
  token = (await session(LIMIT)).csrf;
  const answer = await send("/api/pair", data, LIMIT);
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

async function send(path, data, limit) {
  const answer = await reach(
    path,
    {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token },
      body: JSON.stringify(data),
    },
    limit,
  );
  const body = await answer.json().catch(() => null);
  return { ok: answer.ok && body !== null, status: answer.status, body };
}

async function reach(path, options, limit) {
  const stop = new AbortController();
  const after = (wait) => setTimeout(() => stop.abort(), wait);
  const atMost = after(limit * LIMITS_IN_ALL);
  let stalled = after(limit);
  try {
    const answer = await fetch(path, { ...options, cache: "no-store", signal: stop.signal });
    // The body counts too: a server that stalls halfway must not hold us.
    if (!answer.body) throw new Error(`The server answered ${answer.status}, and nothing else.`);
    const parts = [];
    const reader = answer.body.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      clearTimeout(stalled);
      stalled = after(limit);
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
