// A daemon of a test's own, on the simulated kiln, for what the shared firing cannot show.

import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";

const PROGRAM = process.env.SAGGAR ?? "target/release/saggar";

export const CHECKS = ["cones-placed", "load-clear", "lid-shut", "nothing-burns", "within-call"];

/** Starts one at a speed, with more arguments where given; `stop` ends it and removes its data. */
export async function daemon({ speed = 60, more = [] } = {}) {
  const data = mkdtempSync(join(tmpdir(), "saggar-page-"));
  const child = spawn(PROGRAM, ["serve", "--data", data, "--listen", "127.0.0.1:0", "--speed", String(speed), ...more]);
  child.stderr.resume();
  const stop = async () => {
    if (child.exitCode === null && child.signalCode === null) {
      const ended = once(child, "exit");
      child.kill();
      await ended;
    }
    rmSync(data, { recursive: true, force: true });
  };
  for await (const line of createInterface({ input: child.stdout })) {
    const told = line.match(/^Page at (http:.*)$/);
    if (told) return serving(new URL(told[1]), data, stop);
  }
  await stop();
  throw new Error(`${PROGRAM} names no page`);
}

function serving(address, data, stop) {
  const ask = async (path, body) => {
    const headers = { "Content-Type": "application/json" };
    const method = body === undefined ? "GET" : "POST";
    const answer = await fetch(new URL(path, address), { method, headers, body: JSON.stringify(body) });
    return answer.json();
  };
  return {
    address,
    stop,
    schedule: (name) => join(data, "schedules", name),
    now: () => ask("/api/now"),
    order: (order) => ask("/api/orders", { order }),
    lightUp: (schedule, more = {}) => ask("/api/light-up", { schedule, confirmed: CHECKS, ...more }),
  };
}
