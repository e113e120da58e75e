// The bar at the foot: the temperature, the phase, and shut off, in reach from everywhere with a
// single press. Nothing else ever takes its place there: a second tap of a hurried thumb must not
// undo a shut-off or clear a trip that came in between.

import { byId, setHidden, setText } from "./dom.js";
import { postJson, whyFailed } from "./net.js";
import { asWords, temperature } from "./words.js";

// Long enough to read two lines twice.
const OUTCOME_MS = 9000;
// A second tap right after a shut-off that was taken says the same again; it needs no refusal.
const SAME_AGAIN_MS = 1500;

let outcomeTimer;

/** Says what became of an order, above the bar, where it is seen from any part of the page. */
function sayOutcome(text) {
  const line = byId("outcome");
  setText(line, text);
  clearTimeout(outcomeTimer);
  outcomeTimer = setTimeout(() => setText(line, ""), OUTCOME_MS);
}

/** Sends an order, says what became of it, and returns whether it was taken. */
export async function give(order, done) {
  try {
    await postJson("/api/orders", { order });
    sayOutcome(done);
    return true;
  } catch (error) {
    sayOutcome(`Not done: ${whyFailed(error)}`);
    return false;
  }
}

export function showBar(now) {
  setText(byId("bar-temperature"), temperature(now.chamber_c, now.firing?.scale, "no reading"));
  setText(byId("bar-phase"), now.withheld === null ? asWords(now.phase) : `${asWords(now.phase)}, heat withheld`);
  setHidden(byId("shut-off"), !now.orders.includes("shut-off"));
}

let underWay = false;
let takenAtMs = -Infinity;

byId("shut-off").addEventListener("click", async () => {
  if (underWay || performance.now() - takenAtMs < SAME_AGAIN_MS) return;
  underWay = true;
  const taken = await give("shut-off", "Shut off. Carry on, under Orders, undoes it for a short while.");
  if (taken) takenAtMs = performance.now();
  underWay = false;
});
