// The bar at the foot: the temperature, the phase, and the one order that must never be out of
// reach. Shut off takes a single press: stopping is easy, and soon after it carry on undoes it.

import { byId, setHidden, setText } from "./dom.js";
import { postJson, whyFailed } from "./net.js";
import { asWords, temperature } from "./words.js";

// Long enough to read two lines twice.
const OUTCOME_MS = 9000;

const MAIN_ORDERS = [
  { order: "shut-off", label: "Shut off", done: "Shut off. The elements are off." },
  { order: "clear-trip", label: "Clear the trip", done: "The trip is cleared." },
  { order: "carry-on", label: "Carry on", done: "Carrying on." },
];

let outcomeTimer;
let offered = null;

/** Says what became of an order, above the bar, where it is seen from any part of the page. */
export function sayOutcome(text) {
  const line = byId("outcome");
  setText(line, text);
  clearTimeout(outcomeTimer);
  outcomeTimer = setTimeout(() => setText(line, ""), OUTCOME_MS);
}

/** Sends an order and says what became of it. */
export async function give(order, done) {
  try {
    const answer = await postJson("/api/orders", { order });
    sayOutcome(answer.outcome === "taken" ? done : `Refused: ${answer.why}`);
  } catch (error) {
    sayOutcome(`Not done: ${whyFailed(error)}`);
  }
}

export function showBar(now) {
  setText(byId("bar-temperature"), temperature(now.chamber_c, now.firing?.scale, "no reading"));
  setText(byId("bar-phase"), now.withheld === null ? asWords(now.phase) : `${asWords(now.phase)}, heat withheld`);
  offered = MAIN_ORDERS.find(({ order }) => now.orders.includes(order)) ?? null;
  const button = byId("main-order");
  setHidden(button, offered === null);
  if (offered === null) return;
  setText(button, offered.label);
  button.dataset.order = offered.order;
}

byId("main-order").addEventListener("click", () => {
  if (offered !== null) give(offered.order, offered.done);
});
