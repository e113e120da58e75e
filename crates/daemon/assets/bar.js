// The bar at the foot: the temperature, the phase, and shut off, in reach from everywhere with a
// single press. Nothing else ever takes its place there: a second tap of a hurried thumb must not
// undo a shut-off or clear a trip that came in between. What undoes a shut-off stands on a line of
// its own above the bar, seen from any part of the page for as long as it may be used.

import { byId, setHidden, setText } from "./dom.js";
import { postJson, whyFailed } from "./net.js";
import { asWords, temperature } from "./words.js";

// Long enough to read two lines twice.
const OUTCOME_MS = 9000;
// A second tap right after a shut-off that was taken says the same again; it needs no refusal.
const SAME_AGAIN_MS = 1500;
// A button that has just appeared under a thumb takes no press for this long: the second tap of a
// double tap, or a key held down, was meant for the one before it.
const SETTLE_MS = 700;

let outcomeTimer;

/** Says what became of an order, above the bar, where it is seen from any part of the page. */
export function sayOutcome(text) {
  const line = byId("outcome");
  setText(line, text);
  clearTimeout(outcomeTimer);
  outcomeTimer = setTimeout(() => setText(line, ""), OUTCOME_MS);
}

/** Sends an order. Says `done` once it is taken; else gives why it was not, for its own place. */
export async function give(order, done) {
  try {
    await postJson("/api/orders", { order });
    sayOutcome(done);
    return null;
  } catch (error) {
    return `Not done: ${whyFailed(error)}`;
  }
}

/** Keeps a button from being pressed until whoever sees it means it. */
export function settle(button) {
  button.setAttribute("aria-disabled", "true");
  setTimeout(() => button.removeAttribute("aria-disabled"), SETTLE_MS);
}

/** Holds a button while its order is on the way, so that a second press sends nothing. */
export function onPress(button, order) {
  button.addEventListener("click", async () => {
    if (button.getAttribute("aria-disabled") === "true") return;
    button.setAttribute("aria-disabled", "true");
    await order();
    button.removeAttribute("aria-disabled");
  });
}

/** A cooling that takes carry on was begun by a person a short while ago. */
export const canBeUndone = (now) => now.phase === "cooling" && now.orders.includes("carry-on");

let setForLater = false;

export function showBar(now) {
  setText(byId("bar-temperature"), temperature(now.chamber_c, now.firing?.scale, "no reading"));
  setText(byId("bar-phase"), now.withheld === null ? asWords(now.phase) : `${asWords(now.phase)}, heat withheld`);
  setForLater = now.phase === "set-for-later";
  setText(byId("shut-off"), setForLater ? "Cancel light-up" : "Shut off");
  const pressedLast = document.activeElement === byId("shut-off");
  setHidden(byId("shut-off"), !now.orders.includes("shut-off"));
  showUndo(canBeUndone(now));
  // The keyboard that shut off finds the way back next, not the top of the page.
  if (pressedLast && byId("shut-off").hidden && !byId("undo").hidden) byId("undo-shut-off").focus();
}

function showUndo(possible) {
  const line = byId("undo");
  if (line.hidden === !possible) return;
  setHidden(line, !possible);
  if (possible) settle(byId("undo-shut-off"));
}

let underWay = false;
let takenAtMs = -Infinity;

byId("shut-off").addEventListener("click", async () => {
  if (underWay || performance.now() - takenAtMs < SAME_AGAIN_MS) return;
  underWay = true;
  const refused = await give("shut-off", setForLater ? "Light-up cancelled." : "Shut off.");
  if (refused === null) takenAtMs = performance.now();
  else sayOutcome(refused);
  underWay = false;
});

onPress(byId("undo-shut-off"), async () => {
  const refused = await give("carry-on", "Carrying on where it was ended.");
  if (refused !== null) sayOutcome(refused);
});
