// The way to the daemon: plain fetches, and the one stream of snapshots.

// The daemon sends a snapshot whenever something changes, which is every control step (1 s): this
// long without one and the line is dead, whatever the browser believes.
const SILENCE_MS = 8000;
const RETRY_MS = 2000;

export class Refused extends Error {
  constructor(status, body) {
    super(body?.why ?? `Saggar answered with status ${status}.`);
    this.body = body ?? {};
  }
}

async function answerOf(response) {
  const body = await response.json().catch(() => null);
  if (!response.ok) throw new Refused(response.status, body);
  return body;
}

export async function fetchJson(path) {
  return answerOf(await fetch(path, { headers: { Accept: "application/json" }, cache: "no-store" }));
}

export async function postJson(path, body) {
  return answerOf(
    await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(body),
    }),
  );
}

/** Words for a failed request: the daemon's own, or that it could not be reached. */
export function whyFailed(error) {
  if (error instanceof Refused) return error.message;
  return "Saggar could not be reached. If heat must stop now, use the isolator at the kiln.";
}

/**
 * Follows the stream while the page is seen: one connection, closed when hidden.
 * `onNow(snapshot)` for each snapshot; `onLost(seconds)` each second without connection;
 * `onFound()` when it is back.
 */
export function follow({ onNow, onLost, onFound }) {
  let source = null;
  let lostSince = null;
  let lastHeard = Date.now();
  let retryAt = 0;

  const lose = () => {
    lostSince ??= lastHeard;
  };

  const open = () => {
    source?.close();
    retryAt = Date.now() + RETRY_MS + SILENCE_MS;
    source = new EventSource("/api/stream");
    source.addEventListener("now", (event) => {
      lastHeard = Date.now();
      if (lostSince !== null) {
        lostSince = null;
        onFound();
      }
      onNow(JSON.parse(event.data));
    });
    source.addEventListener("error", () => {
      lose();
      // A refused or broken stream is closed for good by the browser: ask again ourselves.
      if (source?.readyState === EventSource.CLOSED) retryAt = Date.now() + RETRY_MS;
    });
  };

  const watch = () => {
    if (document.hidden) return;
    const now = Date.now();
    if (now - lastHeard > SILENCE_MS) lose();
    if (lostSince === null) return;
    onLost(Math.round((now - lostSince) / 1000));
    if (now >= retryAt) open();
  };

  document.addEventListener("visibilitychange", () => {
    if (document.hidden) {
      source?.close();
      source = null;
    } else {
      lastHeard = Date.now();
      open();
    }
  });
  window.addEventListener("pagehide", () => source?.close());
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) open();
  });
  setInterval(watch, 1000);
  if (!document.hidden) open();
}
