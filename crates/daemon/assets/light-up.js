// Choosing a schedule and lighting it: cards, the plan, at most five questions, a delay, then light.

import { FiringChart, sketch } from "./chart.js";
import { byId, make, onChange, setHidden, setText } from "./dom.js";
import { Refused, fetchJson, postJson, whyFailed } from "./net.js";
import { duration, isNumber, moment, temperature } from "./words.js";

const DELAYS_MIN = [0, 30, 60, 120, 180, 240, 300, 360, 420, 480, 540, 600, 660, 720, 960, 1200, 1440];
const SECOND_MS = 1000;

/** How hot a schedule gets; a watch of the probes asks for no heat. */
function upTo({ hottest_c: hottestC, scale }) {
  return isNumber(hottestC) ? `to ${temperature(hottestC, scale)}` : "no heat";
}

export class LightUp {
  constructor() {
    this.schedules = null;
    this.chosen = null;
    this.running = null;
    this.timeMs = null;
    this.chart = new FiringChart(byId("plan-chart"), "plan");
    byId("delay").replaceChildren(...DELAYS_MIN.map((minutes) => make("option", { value: minutes }, delayWords(minutes))));
    byId("delay").addEventListener("change", () => this.showTimes());
    byId("light-up-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.light();
    });
    this.showPossible = onChange(({ possible, why, anyFiring }) => {
      setHidden(byId("kindle"), !possible);
      setText(byId("light-up-title"), possible ? "Light-up" : "Schedules");
      setHidden(byId("light-up-why"), possible || anyFiring);
      setText(byId("light-up-why"), `No light-up now: ${why}`);
      if (!possible) byId("light-up-outcome").replaceChildren();
    });
  }

  /** Fetches schedules, checklist and, so that cards have their full size, every plan. */
  async load() {
    const [schedules, checklist] = await Promise.all([fetchJson("/api/schedules"), fetchJson("/api/checklist")]);
    this.schedules = schedules;
    byId("checklist").replaceChildren(...checklist.map(question));
    byId("cards").replaceChildren(...schedules.map((schedule) => this.card(schedule)));
    this.mark();
    this.sketchAll();
  }

  /** Marks the chosen card, whichever came first, the choice or the cards. */
  mark() {
    for (const radio of byId("cards").querySelectorAll("input")) radio.checked = radio.value === this.chosen;
  }

  show(now) {
    this.timeMs = Date.parse(now.time);
    this.showPossible({ ...now.light_up, anyFiring: now.firing !== null });
    this.showTimes();
    const running = now.firing?.schedule ?? null;
    if (running !== this.running) {
      this.running = running;
      this.choose(running);
    }
  }

  card(schedule) {
    const broken = schedule.problems.length > 0;
    const radio = make("input", { type: "radio", name: "schedule", value: schedule.file, disabled: broken });
    radio.addEventListener("change", () => this.choose(schedule.file));
    const aim = schedule.cone === null ? "no cone" : `cone ${schedule.cone}`;
    const title = schedule.title ?? schedule.file;
    const facts = [aim, upTo(schedule), duration(schedule.duration_s)];
    const picture = make("span", { class: "picture" });
    return make(
      "label",
      { class: broken ? "card broken" : "card", "data-file": schedule.file },
      radio,
      make("span", { class: "title" }, title),
      make("span", { class: "quiet" }, broken ? "Cannot be lit: the file has errors." : facts.join(" · ")),
      broken ? problemList(schedule.problems) : picture,
    );
  }

  async sketchAll() {
    const endS = Math.max(1, ...this.schedules.map((schedule) => schedule.duration_s));
    const topC = Math.max(1, ...this.schedules.map((schedule) => schedule.hottest_c));
    for (const schedule of this.schedules) {
      if (schedule.problems.length > 0) continue;
      const host = byId("cards").querySelector(`[data-file="${CSS.escape(schedule.file)}"] .picture`);
      try {
        const { planned } = await sheetOf(schedule.file);
        if (planned !== null) host.replaceChildren(sketch(planned, endS, topC));
      } catch {
        return; // Cards do without their pictures; choosing one says what is wrong.
      }
    }
  }

  async choose(file) {
    this.chosen = file;
    this.mark();
    if (file === null) {
      this.shown = undefined;
      setHidden(byId("plan"), true);
      setText(byId("delay-words"), "");
      setText(byId("light"), "Light up");
      return;
    }
    await this.look();
  }

  /** Shows the chosen schedule as its file is now; tells whether the text differs from the one shown. */
  async look() {
    const file = this.chosen;
    try {
      const sheet = await sheetOf(file);
      if (this.chosen !== file) return false;
      const changed = this.shown?.file === file && this.shown.edition !== sheet.edition;
      this.shown = sheet;
      this.showPlan(sheet);
      return changed;
    } catch (error) {
      byId("light-up-outcome").replaceChildren(make("p", {}, whyFailed(error)));
      return false;
    }
  }

  showPlan(detail) {
    const empty = { t_s: [], chamber_min_c: [], chamber_max_c: [], setpoint_c: [], duty: [], phase: [] };
    const words = `The plan of ${detail.title}: ${detail.segments} segments, ${upTo(detail)} in ${duration(detail.duration_s)}.`;
    setHidden(byId("plan"), false);
    setText(byId("plan-title"), detail.title);
    setText(byId("light"), `Light up: ${detail.title}`);
    byId("plan-notes").replaceChildren(...notesOf(detail).map((note) => make("li", {}, note)));
    setText(byId("plan-text"), detail.text);
    this.chart.show({ ...empty, planned: detail.planned }, { scale: detail.scale, startMs: null, nowS: null, words });
    this.showTimes();
  }

  /** What the chosen delay means on the clock; by the minute, so that it changes no more often. */
  showTimes() {
    if (this.shown === undefined || this.timeMs === null) return;
    const { heating_ends_s: ends, cool_enough_s: cool } = this.shown.forecast ?? {};
    const parts = [];
    if (isNumber(ends)) parts.push(`heats for ${duration(ends)}`);
    if (isNumber(cool)) parts.push(`is cool enough to open after ${duration(cool)}`);
    setText(byId("plan-words"), parts.length === 0 ? "" : `In this kiln it ${parts.join(" and ")}, by forecast.`);
    const startMs = this.timeMs + Number(byId("delay").value) * 60 * SECOND_MS;
    const at = (seconds) => moment(new Date(startMs + seconds * SECOND_MS).toISOString(), this.timeMs);
    const times = [`lights about ${at(0)}`];
    if (isNumber(ends)) times.push(`heating ends about ${at(ends)}`);
    if (isNumber(cool)) times.push(`cool enough about ${at(cool)}`);
    setText(byId("delay-words"), `${times.join(", ")}.`);
  }

  showText() {
    const details = byId("plan-text").closest("details");
    details.open = true;
    details.scrollIntoView({ block: "start" });
  }

  async light() {
    const outcome = byId("light-up-outcome");
    if (this.chosen === null || this.shown === undefined) {
      outcome.replaceChildren(make("p", {}, "Not lit: choose a schedule first."));
      byId("cards").querySelector("input:enabled")?.focus();
      return;
    }
    const boxes = [...byId("checklist").querySelectorAll("input")];
    const open = boxes.filter((box) => !box.checked);
    if (open.length > 0) {
      outcome.replaceChildren(make("p", {}, `Not lit: ${open.length} of ${boxes.length} questions are open.`));
      open[0].focus();
      return;
    }
    const button = byId("light");
    if (button.getAttribute("aria-disabled") === "true") return;
    button.setAttribute("aria-disabled", "true");
    try {
      await postJson("/api/light-up", {
        schedule: this.chosen,
        delay_minutes: Number(byId("delay").value),
        confirmed: boxes.map((box) => box.value),
        edition: this.shown.edition,
      });
      for (const box of boxes) box.checked = false;
      byId("now-title").scrollIntoView();
    } catch (error) {
      outcome.replaceChildren(...refusal(error));
      // It may have been refused because the file changed: what would be lit now is what is seen.
      if (await this.look()) this.showText();
    } finally {
      button.removeAttribute("aria-disabled");
    }
  }
}

/** A schedule as its file is now: what somebody looks at before lighting is never an old copy. */
const sheetOf = (file) => fetchJson(`/api/schedules/${encodeURIComponent(file)}`);

function delayWords(minutes) {
  return minutes === 0 ? "now" : `in ${duration(minutes * 60)}`;
}

function notesOf(detail) {
  const { forecast, notes } = detail;
  const priced = [];
  if (isNumber(forecast?.energy_kwh)) priced.push(`${Math.round(forecast.energy_kwh)}\u00a0kWh`);
  if (forecast?.cost) priced.push(forecast.cost);
  const fromFile = (notes ?? []).map(({ line, message, fix }) => `Line ${line}: ${[message, fix].filter(Boolean).join("; ")}`);
  return [...(priced.length > 0 ? [`About ${priced.join(", ")}.`] : []), ...(forecast?.notes ?? []), ...fromFile];
}

function question({ id, text }) {
  const box = make("input", { type: "checkbox", value: id });
  return make("li", {}, make("label", {}, box, make("span", {}, text)));
}

function refusal(error) {
  if (error instanceof Refused && error.body.problems) {
    return [make("p", {}, "Not lit: the file has errors."), problemList(error.body.problems)];
  }
  const missing = error instanceof Refused ? (error.body.missing ?? []) : [];
  const list = missing.length === 0 ? null : make("ul", {}, ...missing.map((id) => make("li", {}, textOf(id))));
  return [make("p", {}, `Not lit: ${whyFailed(error)}`), list].filter((part) => part !== null);
}

/** The words of the question with this name. */
function textOf(id) {
  const box = [...byId("checklist").querySelectorAll("input")].find(({ value }) => value === id);
  return box?.closest("label").textContent ?? id;
}

function problemList(problems) {
  const items = problems.map(({ file, line, column, text, message, fix }) =>
    make("li", {}, `${file}, line ${line}, column ${column}: ${message}`, make("code", {}, text), fix),
  );
  return make("ul", { class: "problems" }, ...items);
}
