// Now, in one sentence; what needs attention right below; then the figures, as on a firing sheet.

import { byId, make, onChange, setHidden, setText } from "./dom.js";
import { asHeading, asWords, difference, duration, isNumber, moment, percent, rate, roughly, temperature, unbroken, wall } from "./words.js";

const SEVERITIES = {
  trip: "Tripped: heat is off until the trip is cleared",
  withhold: "Heat withheld",
  notice: "Notice",
};

const ISOLATION =
  "An open contactor is not isolation. Before hands or tools enter kiln or box: isolator off, locked, proved dead.";
const HOT = "Ware and bricks may still burn: gloves, and open slowly.";

export function showNow(now) {
  setText(byId("sentence"), unbroken(now.sentence));
  showAttention({ attention: now.attention, phase: now.phase, remind: now.firing?.remind ?? null });
  showAhead(aheadOf(now));
  showFacts(factsOf(now));
  showParts(partsOf(now));
  setHidden(byId("parts-section"), false);
}

/** What comes, with about when, and in how long. */
function aheadOf({ firing, time, phase }) {
  if (firing === null) return { rows: [], short: "" };
  const nowMs = wall(time);
  const stages = [
    [`Cone ${firing.cone_aim}`, firing.cone_down],
    // While a kiln falls by itself its elements are off already, but not for good.
    [phase === "cooling" ? "Last heat" : "Elements off", firing.heating_ends],
    ["Cool enough to open", firing.cool_enough],
  ];
  const rows = stages
    .filter(([, at]) => typeof at === "string")
    .map(([what, at]) => [`${what} about`, moment(wall(at), nowMs), `in ${roughly((Date.parse(at) - Date.parse(time)) / 1000)}`]);
  return { rows, short: unbroken(firing.falls_short ?? "") };
}

const showAhead = onChange(({ rows, short }) => {
  setHidden(byId("ahead"), rows.length === 0 && short === "");
  byId("ahead-times").replaceChildren(
    ...rows.map(([what, at, left]) =>
      make("tr", {}, make("th", { scope: "row" }, what), make("td", {}, at), make("td", { class: "quiet" }, left)),
    ),
  );
  setHidden(byId("falls-short"), short === "");
  setText(byId("falls-short"), short);
});

const showAttention = onChange(({ attention, phase, remind }) => {
  const cards = attention.map(card);
  if (remind !== null) cards.push(reminder(remind));
  if (phase === "cool-enough-to-open") {
    cards.push(make("p", { class: "caution" }, `${HOT} ${ISOLATION}`));
  }
  byId("attention").replaceChildren(...cards);
});

function card(item) {
  const severity = SEVERITIES[item.severity] ? item.severity : "notice";
  const steps = item.look_at.map((step) => make("li", {}, step));
  const where = item.part ? ` (${item.part})` : "";
  return make(
    "article",
    { class: `matter ${severity}` },
    make("p", { class: "severity" }, SEVERITIES[severity]),
    make("h3", {}, `${asHeading(item.name)}${where}`),
    make("p", {}, make("b", {}, "Seen: "), item.seen),
    make("p", {}, make("b", {}, "Done: "), item.done),
    steps.length > 0 ? make("p", {}, make("b", {}, "Look at, likeliest first:")) : null,
    steps.length > 0 ? make("ol", {}, ...steps) : null,
    severity === "trip" ? make("p", { class: "isolation" }, ISOLATION) : null,
  );
}

/** What the schedule asks a person to do in this segment. */
function reminder(words) {
  const severity = make("p", { class: "severity" }, "Reminder from the schedule");
  return make("article", { class: "matter notice" }, severity, make("h3", {}, words));
}

function factsOf(now) {
  if (now.firing === null || now.phase === "set-for-later") return [];
  const { scale } = now.firing;
  const facts = [["Chamber", temperature(now.chamber_c, scale, "no reading")]];
  if (isNumber(now.setpoint_c)) {
    facts.push(["Setpoint", temperature(now.setpoint_c, scale)]);
    if (isNumber(now.chamber_c)) facts.push(["Chamber − setpoint", difference(now.chamber_c - now.setpoint_c, scale)]);
  }
  return [...facts, ["Rate now", rate(now.rate_c_per_h, scale)], ...firingFacts(now)];
}

function partsOf(now) {
  const scale = now.firing?.scale;
  return [
    ...now.probes.map((probe) => [`Probe ${probe.name}`, probeWords(probe, scale)]),
    ...now.banks.map((bank) => [`Bank ${bank.name}`, `${percent(bank.duty)}, ${bank.on ? "on" : "off"}`]),
    ["Contactor", now.contactor ? "closed" : "open"],
    ...limitOf(now.limit, scale),
    ...signalsOf(now.signals),
    ["Controller’s box", temperature(warmestBox(now.probes), scale)],
  ];
}

/** The warden's own limit probe, where it has one. */
function limitOf(limit, scale) {
  if (!limit) return [];
  return [["Limit probe", `${temperature(limit.reading_c, scale, "no reading")}, ceiling ${temperature(limit.ceiling_c, scale)}`]];
}

/** What heats nothing, where it is fitted. */
function signalsOf({ buzzer, lamp, vent }) {
  const fitted = [
    ["Buzzer", buzzer, "sounding", "silent"],
    ["Hot lamp", lamp, "lit", "not lit"],
    ["Vent", vent, "running", "off"],
  ];
  return fitted.filter(([, on]) => on !== null).map(([name, on, yes, no]) => [name, on ? yes : no]);
}

function firingFacts(now) {
  const firing = now.firing;
  const facts = [];
  if (firing.proving) facts.push(["Proving firing", "stay near, compare with the cones"]);
  if (isNumber(firing.segment)) facts.push(["Segment", `${firing.segment} of ${firing.segments}`]);
  if (now.waiting) facts.push(["Schedule", "waits for the kiln"]);
  if (isNumber(firing.soak_left_s)) facts.push(["Soak left", duration(firing.soak_left_s)]);
  if (isNumber(firing.stay_left_s)) facts.push(["Longest stay left", duration(firing.stay_left_s)]);
  facts.push(["Since light-up", duration(firing.elapsed_s)]);
  return facts;
}

function probeWords(probe, scale) {
  if (probe.faults.length > 0) return probe.faults.map(asWords).join(", ");
  return temperature(probe.junction_c, scale, "no reading");
}

function warmestBox(probes) {
  const known = probes.map((probe) => probe.cold_junction_c).filter(isNumber);
  return known.length === 0 ? null : Math.max(...known);
}

const showFacts = listIn("facts");
const showParts = listIn("parts");

/** A list of names and values that keeps its elements: a changed number changes only its text. */
function listIn(id) {
  const shown = new Map();
  return (facts) => {
    if (facts.map(([name]) => name).join() !== [...shown.keys()].join()) {
      shown.clear();
      for (const [name] of facts) shown.set(name, make("dd"));
      const lines = [...shown].map(([name, value]) => make("div", {}, make("dt", {}, name), value));
      byId(id).replaceChildren(...lines);
    }
    for (const [name, value] of facts) setText(shown.get(name), value);
  };
}

let lastTold = "";

/** Tells a screen reader of turns in the firing, not of every degree. */
export function announce(now) {
  const urgent = now.attention.filter((item) => item.severity !== "notice");
  const turn = JSON.stringify([
    now.phase, now.firing?.segment, now.firing?.remind, now.waiting, now.attention.map((item) => [item.name, item.severity]),
  ]);
  if (turn === lastTold) return;
  lastTold = turn;
  const remind = now.firing?.remind ? ` Reminder: ${now.firing.remind}.` : "";
  setText(byId("said"), now.sentence + remind);
  setText(
    byId("called"),
    urgent.map((item) => `${SEVERITIES[item.severity] ?? ""}: ${asWords(item.name)}. ${item.seen}`).join(" "),
  );
}
