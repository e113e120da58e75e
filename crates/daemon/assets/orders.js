// What a person may ask of the firing. Only what this phase takes is shown. Shut off is on the bar,
// in reach from everywhere.

import { canBeUndone, give, onPress, sayOutcome, settle } from "./bar.js";
import { byId, make, onChange, setHidden, setText } from "./dom.js";

// Minutes offered to lengthen a soak: under the law of heat-work ten minutes at the end point is
// about half a cone, so longer than an hour is a new schedule.
const MINUTES = [5, 10, 15, 20, 30, 45, 60];

const BENDS = [
  [8, "standing as set"],
  [20, "tip just moving"],
  [45, "half way over"],
  [70, "nearly down"],
  [90, "down: tip level with its base"],
];

const BUTTONS = [
  {
    order: "clear-trip", label: "Clear the trip", done: "The trip is cleared.",
    tells: "Only when the cause is found and gone. It does not start the heat again.",
  },
  { order: "silence", label: "Silence the buzzer", tells: "The trip stands. Another trip sounds again.", done: "The buzzer is silent." },
  { order: "carry-on", label: "Carry on", tells: "Go on with the schedule from here.", done: "Carrying on." },
  { order: "stay", label: "Stay here", tells: "Keep the present setpoint until you say carry on.", done: "Staying here." },
];

const END_CLIMB = {
  order: "end-climb", label: "Go to the soak now", tells: "Stop climbing here and begin this segment’s soak.",
  ask: "End this climb? It cannot be taken back.", yes: "Yes, go to the soak", done: "Going to the soak.",
};

/** Leaving a segment, by what comes after it; after the last the firing is over. */
function leaving(next) {
  if (next === null) {
    return {
      order: "next-segment", label: "End the firing here", tells: "Nothing comes after this segment: the elements go off and the kiln cools.",
      ask: "End the firing? No segment comes after this one: the heating ends. For ten minutes that can be undone.",
      yes: "Yes, end the firing", done: "The firing is over; the elements are off.",
    };
  }
  return {
    order: "next-segment", label: "Next segment now", tells: `Skip what is left of this segment. Next comes ${next}.`,
    ask: `Skip to ${next}? It cannot be taken back.`, yes: "Yes, next segment", done: `On to ${next}.`,
  };
}

// Asked for once a firing or never, and not to be taken back: a press further away.
const RARE = new Set(["end-climb", "next-segment", "cone-seen"]);

/** Builds every order's row once; the function returned shows those the snapshot allows. */
export function buildOrders() {
  const rows = new Map();
  for (const item of BUTTONS) rows.set(item.order, plainRow(item));
  rows.set("add-minutes", minutesRow());
  const endClimb = confirmedRow();
  endClimb.word(END_CLIMB);
  rows.set("end-climb", endClimb.row);
  const leave = confirmedRow();
  const wordLeave = onChange((next) => leave.word(leaving(next)));
  rows.set("next-segment", leave.row);
  const coneSeen = coneRow();
  rows.set("cone-seen", coneSeen.row);
  const [plain, folded] = [false, true].map((rare) => [...rows].filter(([order]) => RARE.has(order) === rare).map(([, made]) => made.element));
  const more = make("details", { class: "more-orders" }, make("summary", {}, "More orders"), ...folded);
  byId("order-list").replaceChildren(...plain, more);

  const showOrders = onChange((orders) => {
    const focused = document.activeElement;
    for (const [order, made] of rows) show(made, orders.includes(order));
    setHidden(more, folded.every((element) => element.hidden));
    const any = [...rows.values()].find(({ element }) => !element.hidden)?.element;
    setHidden(byId("orders"), any === undefined);
    // Whoever pressed Stay finds the keyboard on Carry on, not lost at the top; whoever ended the
    // firing, on what undoes it.
    if (focused?.closest("#orders [hidden], #orders[hidden]")) (any?.querySelector("button") ?? byId("undo-shut-off")).focus();
  });
  return (now) => {
    const named = now.witness.length > 0; // without a cone aimed at there is none to name
    const undo = canBeUndone(now); // has its own place, on the bar
    showOrders(now.orders.filter((order) => (order !== "cone-seen" || named) && !(order === "carry-on" && undo)));
    wordLeave(now.firing?.next ?? null);
    coneSeen.offer(now.witness);
  };
}

function show({ element, refused }, offered) {
  if (offered && element.hidden) settle(element.querySelector("button"));
  setHidden(element, !offered);
  if (offered || refused.textContent === "") return;
  sayOutcome(refused.textContent); // its row is gone
  setText(refused, "");
}

const button = (label, kind = "order") => make("button", { type: "button", class: kind }, label);

/** A row with its own place for a refusal, right under what was pressed. */
function row(...children) {
  const refused = make("p", { class: "refused", role: "alert" });
  return { element: make("div", { class: "order-row", hidden: true }, ...children, refused), refused };
}

/** Gives an order from its row; a refusal is said there, and brought into sight. */
async function giveFrom({ element, refused }, order, done) {
  setText(refused, "");
  const why = await give(order, done);
  if (why === null) return;
  if (element.hidden) {
    sayOutcome(why);
    return;
  }
  sayIn(refused, why);
}

function sayIn(refused, why) {
  setText(refused, why);
  refused.scrollIntoView({ block: "nearest" });
}

function plainRow({ order, label, tells, done }) {
  const press = button(label);
  const made = row(press, make("p", { class: "quiet" }, tells));
  onPress(press, () => giveFrom(made, order, done));
  return made;
}

/** An order that asks first; `word` says what it does by now, and takes back a question half answered. */
function confirmedRow() {
  const press = button("");
  const sure = button("");
  const leave = button("No, leave it", "order plain");
  const tells = make("p", { class: "quiet" });
  const ask = make("p");
  const plain = make("div", { class: "pair" }, press, tells);
  const asked = make("div", { class: "asked", hidden: true, role: "group" }, ask, sure, leave);
  let item = null;
  const turn = (asking, focused) => {
    setHidden(plain, asking);
    setHidden(asked, !asking);
    focused?.focus();
  };
  const word = (words) => {
    item = words;
    setText(press, item.label);
    setText(tells, item.tells);
    setText(ask, item.ask);
    setText(sure, item.yes);
    asked.setAttribute("aria-label", item.label);
    turn(false, asked.contains(document.activeElement) ? press : null);
  };
  press.addEventListener("click", () => {
    if (press.getAttribute("aria-disabled") !== "true") turn(true, leave);
  });
  leave.addEventListener("click", () => turn(false, press));
  const made = row(plain, asked);
  onPress(sure, async () => {
    const { order, done } = item;
    turn(false, press);
    await giveFrom(made, order, done);
  });
  asked.addEventListener("keydown", (event) => {
    if (event.key === "Escape") turn(false, press);
  });
  return { row: made, word };
}

function minutesRow() {
  const choice = make("select", { "aria-label": "Minutes to add" }, ...MINUTES.map((m) => make("option", { value: m, selected: m === 10 }, `${m} min`)));
  const press = button("Add");
  const made = row(make("div", { class: "inputs" }, press, choice), make("p", { class: "quiet" }, "Lengthen this soak or stay."));
  onPress(press, () => {
    const minutes = Number(choice.value);
    return giveFrom(made, { "add-minutes": minutes }, `${minutes} min added.`);
  });
  return made;
}

/** Nothing is noted that was not chosen: each list begins with its question. */
const question = (words) => make("option", { value: "", disabled: true, selected: true }, words);

function coneRow() {
  const cone = make("select", { "aria-label": "Which cone" });
  const bend = make("select", { "aria-label": "How far it has bent" }, question("how far bent?"), ...BENDS.map(([deg, words]) => make("option", { value: deg }, words)));
  const press = button("Note a cone seen");
  const words = "Evidence for later; it changes no heat. Look only through rated infrared glasses, from the side.";
  const made = row(make("div", { class: "inputs" }, press, cone, bend), make("p", { class: "quiet" }, words));
  onPress(press, async () => {
    const open = [cone, bend].find((list) => list.value === "");
    if (open !== undefined) {
      open.focus();
      sayIn(made.refused, "Not noted yet: choose the cone and how far it has bent.");
      return;
    }
    const seen = { cone: cone.value, bend_deg: Number(bend.value) };
    await giveFrom(made, { "cone-seen": seen }, `Noted: cone ${seen.cone}, ${bend.selectedOptions[0].textContent}.`);
    cone.value = "";
    bend.value = "";
  });
  const offer = onChange((names) => {
    cone.replaceChildren(question("which cone?"), ...names.map((name) => make("option", { value: name }, `cone ${name}`)));
  });
  return { row: made, offer: (witness) => offer(witness.map(({ cone: name }) => name)) };
}
