// A firing's chart with what belongs to it: a key, a ruler to read it by finger or keyboard, and the
// same figures as a table.

import { draw, freshId, make, setText } from "./dom.js";
import { valueAt } from "./scale.js";
import { layOut, parts } from "./strips.js";
import { asWords, clock, difference, duration, isNumber, percent, temperature } from "./words.js";

const TABLE_ROWS = 24;

const NO_PLAN = { t_s: [], setpoint_c: [] };

const KEY = [
  ["measured", "chamber, least to most"],
  ["setpoint", "setpoint"],
  ["planned", "plan with its band"],
];

export class FiringChart {
  /** `kind` is "firing", with all three strips, or "plan", with the plan alone. */
  constructor(host, kind) {
    this.kind = kind;
    this.titleId = freshId("chart-title");
    this.svg = draw("svg", { class: `chart ${kind}`, role: "img", "aria-labelledby": this.titleId });
    host.replaceChildren(this.svg);
    if (kind === "firing") this.addReading(host);
    new ResizeObserver(() => this.render()).observe(this.svg);
  }

  addReading(host) {
    const last = String(TABLE_ROWS * 10);
    this.ruler = make("input", { type: "range", min: 0, max: last, value: last, step: 1, "aria-label": "Read along the curve" });
    this.reading = make("output", { class: "reading" });
    this.table = make("details", { class: "table" }, make("summary", {}, "The curve as a table"));
    host.prepend(key());
    host.append(this.ruler, this.reading, this.table);
    this.ruler.addEventListener("input", () => this.read(Number(this.ruler.value) / Number(this.ruler.max)));
    const follow = (event) => {
      if (event.pointerType === "mouse" || event.pressure > 0) this.readAt(event.clientX);
    };
    this.svg.addEventListener("pointermove", follow);
    this.svg.addEventListener("pointerdown", follow);
    this.table.addEventListener("toggle", () => this.fillTable());
  }

  /** How many columns of data the chart can show. */
  columns() {
    return Math.min(800, Math.max(200, Math.round(this.svg.clientWidth)));
  }

  /** Shows `data` in `frame`: {scale, startMs, nowS, chamberC, words}. */
  show(data, frame) {
    this.data = { ...data, planned: data.planned ?? NO_PLAN };
    this.frame = { ...frame, withStrips: this.kind === "firing" };
    this.render();
  }

  render() {
    const { clientWidth: widthPx, clientHeight: heightPx } = this.svg;
    if (this.data === undefined || widthPx === 0) return;
    this.layout = layOut(this.data, this.frame, widthPx, heightPx);
    this.svg.setAttribute("viewBox", `0 0 ${widthPx} ${heightPx}`);
    const title = draw("title", { id: this.titleId }, this.frame.words);
    this.cross = draw("path", { class: "cross" });
    this.svg.replaceChildren(title, ...parts(this.data, this.frame, this.layout), this.cross);
    if (this.kind === "firing") this.read(this.share ?? null);
  }

  readAt(clientX) {
    const { left } = this.svg.getBoundingClientRect();
    const from = this.layout.x(0);
    const share = (clientX - left - from) / (this.layout.x(this.layout.endS) - from);
    this.read(Math.min(1, Math.max(0, share)));
    this.ruler.value = String(Math.round(this.share * Number(this.ruler.max)));
  }

  /** Reads the curve at a share of its time; null reads at its newest. */
  read(share) {
    this.share = share;
    const newest = this.frame.nowS ?? this.data.t_s.at(-1) ?? 0;
    const t = share === null ? newest : share * this.layout.endS;
    const blind = share === null && isNumber(this.frame.nowS) && !isNumber(this.frame.chamberC);
    const words = blind ? `${this.when(t)}: no reading` : this.wordsAt(t);
    setText(this.reading, words);
    this.ruler.setAttribute("aria-valuetext", words);
    if (share === null) this.ruler.value = String((newest / this.layout.endS) * Number(this.ruler.max));
    const x = this.layout.x(t).toFixed(1);
    this.cross.setAttribute("d", share === null ? "" : `M${x} ${this.layout.main.top}V${this.layout.duty.bottom}`);
  }

  when(t) {
    return this.frame.startMs === null ? `${duration(t)} after light-up` : clock(this.frame.startMs + t * 1000);
  }

  wordsAt(t) {
    const { scale } = this.frame;
    const i = this.indexAt(t);
    if (i === null) {
      const planned = valueAt(this.data.planned.t_s, this.data.planned.setpoint_c, t);
      return `${this.when(t)}: ${isNumber(planned) ? `planned ${temperature(planned, scale)}` : "nothing planned"}`;
    }
    const row = this.row(i);
    const beside = isNumber(row.setpoint) ? `, setpoint ${temperature(row.setpoint, scale)} (${difference(row.chamber - row.setpoint, scale)})` : "";
    return `${this.when(t)}, ${asWords(row.phase)}: ${temperature(row.chamber, scale)}${beside}, duty ${percent(row.duty)}`;
  }

  indexAt(t) {
    const times = this.data.t_s;
    if (times.length === 0 || t > times.at(-1) + 1) return null;
    const i = times.findIndex((time) => time >= t);
    return i === -1 ? times.length - 1 : i;
  }

  row(i) {
    const { data } = this;
    const low = data.chamber_min_c[i];
    const high = data.chamber_max_c[i];
    const chamber = isNumber(low) && isNumber(high) ? (low + high) / 2 : null;
    return { t: data.t_s[i], chamber, setpoint: data.setpoint_c[i], duty: data.duty[i] ?? 0, phase: data.phase[i] ?? "" };
  }

  fillTable() {
    const old = this.table.querySelector("table");
    old?.remove();
    if (!this.table.open || this.data === undefined) return;
    const step = Math.max(1, Math.ceil(this.data.t_s.length / TABLE_ROWS));
    const cells = (tag, words) => words.map((word) => make(tag, tag === "th" ? { scope: "col" } : {}, word));
    const head = make("tr", {}, ...cells("th", ["When", "Phase", "Chamber", "Setpoint", "Duty"]));
    const body = make("tbody");
    for (let i = 0; i < this.data.t_s.length; i += step) {
      const row = this.row(i);
      const { scale } = this.frame;
      const setpoint = isNumber(row.setpoint) ? temperature(row.setpoint, scale) : "none";
      const words = [this.when(row.t), asWords(row.phase), temperature(row.chamber, scale), setpoint, percent(row.duty)];
      body.append(make("tr", {}, ...cells("td", words)));
    }
    this.table.append(make("table", {}, make("thead", {}, head), body));
  }
}

function key() {
  const lines = KEY.map(([kind, words]) =>
    make(
      "li",
      {},
      draw(
        "svg",
        { viewBox: "0 0 34 14", "aria-hidden": "true" },
        kind === "planned" ? draw("path", { class: "band", d: "M0 1H34V13H0z" }) : null,
        draw("path", { class: kind, d: kind === "measured" ? "M1 7H33z" : "M1 7H33" }),
      ),
      words,
    ),
  );
  return make("ul", { class: "key", "aria-label": "Key" }, ...lines);
}

/** A small plan without axes, for a card; all cards share `endS` and `topC`, so they compare. */
export function sketch(planned, endS, topC) {
  const points = planned.t_s.map((t, i) => `${((t / endS) * 98 + 1).toFixed(1)} ${(31 - ((planned.setpoint_c[i] ?? 0) / topC) * 29).toFixed(1)}`);
  return draw(
    "svg",
    { class: "sketch", viewBox: "0 0 100 32", preserveAspectRatio: "none", "aria-hidden": "true" },
    draw("path", { class: "planned", d: `M${points.join("L")}`, "vector-effect": "non-scaling-stroke" }),
  );
}
