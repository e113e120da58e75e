// The firings of the logbook, newest first; each opens to its summary and its curve.

import { FiringChart } from "./chart.js";
import { byId, make } from "./dom.js";
import { fetchJson, whyFailed } from "./net.js";
import { asHeading, asWords, date, duration, isNumber, temperature, wall } from "./words.js";

const OUTCOMES = {
  finished: "finished",
  "shut-off": "shut off by a person",
  tripped: "tripped",
  interrupted: "interrupted",
  running: "under way",
};

export class PastFirings {
  async load() {
    const host = byId("past-list");
    try {
      const firings = await fetchJson("/api/firings");
      const past = firings.filter((firing) => firing.outcome !== "running");
      const rows = past.map(entry);
      host.replaceChildren(...(rows.length > 0 ? rows : [make("p", { class: "quiet" }, "None yet.")]));
    } catch (error) {
      host.replaceChildren(make("p", {}, whyFailed(error)));
    }
  }
}

function entry(firing) {
  const scale = firing.scale;
  const facts = [OUTCOMES[firing.outcome] ?? asWords(firing.outcome)];
  if (firing.proving) facts.push("proving firing");
  if (isNumber(firing.carries_on)) facts.push(`carries on firing ${firing.carries_on}`);
  if (firing.simulated) facts.unshift("simulated kiln");
  if (firing.ended === null) facts.push("cooling"); // its sums are made when it is cool enough
  if (isNumber(firing.hottest_c)) facts.push(temperature(firing.hottest_c, scale));
  if (firing.cone !== null) facts.push(`cone ${firing.cone}`);
  if (isNumber(firing.duration_s)) facts.push(duration(firing.duration_s));
  const body = make("div", { class: "past-body" });
  const row = make(
    "details",
    { class: "past-firing" },
    make(
      "summary",
      {},
      make("span", { class: "title" }, firing.title),
      make("span", { class: "quiet" }, date(firing.started)),
      make("span", {}, facts.join(" · ")),
    ),
    body,
  );
  row.addEventListener("toggle", () => {
    if (row.open && body.childElementCount === 0) open(firing, body);
  });
  return row;
}

async function open(firing, body) {
  try {
    const detail = await fetchJson(`/api/firings/${firing.id}`);
    const host = make("div");
    body.replaceChildren(make("p", {}, detail.summary), ...detail.attention.map(seen), host);
    const chart = new FiringChart(host, "firing");
    const data = await fetchJson(`/api/firings/${firing.id}/curve?columns=${chart.columns()}`);
    chart.show(data, {
      scale: firing.scale,
      startMs: wall(firing.started),
      nowS: null,
      words: `The firing ${firing.title}. ${detail.summary}`,
    });
  } catch (error) {
    body.replaceChildren(make("p", {}, whyFailed(error)));
  }
}

function seen(item) {
  return make("p", { class: "seen" }, make("b", {}, `${asHeading(item.name)}: `), item.words);
}
