// Choosing a schedule and lighting it: cards, the plan, what is asked, a delay, then light.

import { sayOutcome } from "./bar.js";
import { FiringChart, sketch } from "./chart.js";
import { byId, make, onChange, setHidden, setText } from "./dom.js";
import { LightUpAsks, textOf } from "./light-up-asks.js";
import { Refused, fetchJson, postJson, whyFailed } from "./net.js";
import { duration, isNumber, isUnderWay, moment, temperature, wall } from "./words.js";

const DELAYS_MIN = [0, 30, 60, 120, 180, 240, 300, 360, 420, 480, 540, 600, 660, 720, 960, 1200, 1440];
const SECOND_MS = 1000;

/** How hot a schedule gets; a watch of the probes asks for no heat. */
function upTo({ hottest_c: hottestC, scale }) {
  return isNumber(hottestC) ? `to ${temperature(hottestC, scale)}` : "no heat";
}

const lasts = ({ duration_s: durationS }) => (isNumber(durationS) ? duration(durationS) : "this kiln does not get there");

const isUsable = ({ problems }) => problems.length === 0;

/** What a card says of its schedule. */
function factsOf(schedule) {
  const aim = schedule.cone === null ? "no cone" : `cone ${schedule.cone}`;
  return [aim, upTo(schedule), lasts(schedule)].join(" · ");
}

/** By what a kiln is forecast. */
const BY = { "earlier-firing": "an earlier firing", "kiln-file": "the kiln file" };

export class LightUp {
  constructor() {
    this.schedules = null;
    this.chosen = null;
    this.now = null;
    this.asks = new LightUpAsks();
    this.chart = new FiringChart(byId("plan-chart"), "plan");
    byId("delay").replaceChildren(...DELAYS_MIN.map((minutes) => make("option", { value: minutes }, delayWords(minutes))));
    byId("delay").addEventListener("change", () => this.showTimes());
    byId("light-up-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.light();
    });
    // What was said of the form as it was does not hold for it as it is by now.
    byId("light-up-form").addEventListener("change", () => sayNotLit());
    // Only for other files: whoever stands on a card stays there while its times change.
    this.showCards = onChange(() => {
      byId("cards").replaceChildren(...this.schedules.map((schedule) => this.card(schedule)));
      this.mark();
    });
    this.showPossible = onChange(({ possible, why, underWay }) => {
      setHidden(byId("light-up-form"), underWay || !possible);
      setHidden(byId("light-up-why"), possible || underWay);
      setText(byId("light-up-why"), `No light-up now: ${why}`);
      // Chosen and confirmed for a firing that is under way, or for a kiln as it was: never for the next.
      if (underWay || !possible) this.forget();
    });
  }

  forget() {
    this.asks.forget();
    byId("delay").value = "0";
    sayNotLit();
    this.choose(null);
  }

  /**
   * Fetches schedules, checklist and, so that cards have their full size, every plan: at first, and whenever
   * the kiln may do otherwise with them than was told.
   */
  async load() {
    const [schedules] = await Promise.all([fetchJson("/api/schedules"), this.asks.load()]);
    this.schedules = schedules;
    this.showCards(JSON.stringify(schedules.map(({ file, title, problems }) => [file, title, problems])));
    for (const schedule of schedules.filter(isUsable)) setText(this.cardOf(schedule).querySelector(".told"), factsOf(schedule));
    this.sketchAll();
    await this.lookAgain();
  }

  cardOf({ file }) {
    return byId("cards").querySelector(`[data-file="${CSS.escape(file)}"]`);
  }

  /** Marks the chosen card, whichever came first, the choice or the cards. */
  mark() {
    for (const radio of byId("cards").querySelectorAll("input")) radio.checked = radio.value === this.chosen;
  }

  show(now) {
    this.now = now;
    this.showPossible({ ...now.light_up, underWay: isUnderWay(now) });
    this.asks.showPresence(now);
    this.showTimes();
  }

  card(schedule) {
    const broken = !isUsable(schedule);
    const radio = make("input", { type: "radio", name: "schedule", value: schedule.file, disabled: broken });
    radio.addEventListener("change", () => this.choose(schedule.file));
    const title = schedule.title ?? schedule.file;
    const picture = make("span", { class: "picture" });
    return make(
      "label",
      { class: broken ? "card broken" : "card", "data-file": schedule.file },
      radio,
      make("span", { class: "title" }, title),
      make("span", { class: "quiet told" }, broken ? "Cannot be lit: the file has errors." : factsOf(schedule)),
      broken ? problemList(schedule.problems) : picture,
    );
  }

  async sketchAll() {
    const endS = Math.max(1, ...this.schedules.map((schedule) => schedule.duration_s ?? 0));
    const topC = Math.max(1, ...this.schedules.map((schedule) => schedule.hottest_c));
    for (const schedule of this.schedules.filter(isUsable)) {
      try {
        const { planned } = await sheetOf(schedule.file);
        if (planned !== null) this.cardOf(schedule)?.querySelector(".picture").replaceChildren(sketch(planned, endS, topC));
      } catch {
        return; // Cards do without their pictures; choosing one says what is wrong.
      }
    }
  }

  async choose(file) {
    this.chosen = file;
    this.mark();
    setText(byId("plan-changed"), "");
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
      const [sheet] = await Promise.all([sheetOf(file), this.asks.load()]);
      if (this.chosen !== file) return false;
      const changed = this.shown?.file === file && this.shown.edition !== sheet.edition;
      this.shown = sheet;
      this.showPlan(sheet);
      return changed;
    } catch (error) {
      sayNotLit(make("p", {}, whyFailed(error)));
      return false;
    }
  }

  /**
   * Shows the chosen schedule as it is forecast by now. A text that has changed is left to be told to
   * whoever lights it.
   */
  async lookAgain() {
    const { chosen: file, shown } = this;
    if (file === null || shown?.file !== file) return;
    const sheet = await sheetOf(file);
    if (this.chosen !== file || this.shown !== shown || shown.edition !== sheet.edition) return;
    this.shown = sheet;
    this.showPlan(sheet);
  }

  showPlan(detail) {
    const empty = { t_s: [], chamber_min_c: [], chamber_max_c: [], setpoint_c: [], duty: [], phase: [] };
    const title = detail.title ?? detail.file;
    const words = `The plan of ${title}: ${detail.segments} segments, ${upTo(detail)}, ${lasts(detail)}.`;
    setHidden(byId("plan"), false);
    setText(byId("plan-title"), title);
    setText(byId("light"), `Light up: ${title}`);
    byId("plan-notes").replaceChildren(...notesOf(detail).map((note) => make("li", {}, note)));
    setText(byId("plan-text"), detail.text);
    this.chart.show({ ...empty, planned: detail.planned }, { scale: detail.scale, startMs: null, nowS: null, words });
    this.showTimes();
  }

  /** What the chosen delay means on the clock; by the minute, so that it changes no more often. */
  showTimes() {
    if (this.shown === undefined || this.now === null) return;
    const { heating_ends_s: ends, cool_enough_s: cool, by } = this.shown.forecast ?? {};
    const parts = [];
    if (isNumber(ends)) parts.push(`heats for ${duration(ends)}`);
    if (isNumber(cool)) parts.push(`is cool enough to open after ${duration(cool)}`);
    const unreached = isNumber(ends) ? "" : "By forecast this kiln does not get there.";
    setText(byId("plan-words"), parts.length === 0 ? unreached : `In this kiln it ${parts.join(" and ")}, forecast by ${BY[by]}.`);
    const nowMs = wall(this.now.time);
    const startMs = nowMs + Number(byId("delay").value) * 60 * SECOND_MS;
    const at = (seconds) => moment(startMs + seconds * SECOND_MS, nowMs);
    const times = [`lights about ${at(0)}`];
    if (isNumber(ends)) times.push(`elements off about ${at(ends)}`);
    if (isNumber(cool)) times.push(`cool enough about ${at(cool)}`);
    setText(byId("delay-words"), `${times.join(", ")}.`);
    this.showHot();
  }

  /** A kiln found hot, its ware with it, does not begin the schedule at its beginning. */
  showHot() {
    const { chamber_c: chamberC, kiln } = this.now;
    const { hottest_c: hottestC, scale } = this.shown;
    const hot = isNumber(chamberC) && chamberC > kiln.open_below_c && hottestC !== null;
    setHidden(byId("plan-hot"), !hot);
    if (!hot) return;
    const over = chamberC > hottestC;
    const joins = over ? "hotter than the whole schedule, which would give it no heat" : "and joins the schedule there: what lies below is passed over";
    setText(byId("plan-hot"), `The kiln is at ${temperature(chamberC, scale)}, ${joins}.`);
  }

  /** Shows the text as it is now, with why it is shown. */
  showText(why) {
    setText(byId("plan-changed"), why);
    byId("plan-text").closest("details").open = true;
    byId("plan-changed").scrollIntoView({ block: "start" });
  }

  async light() {
    const button = byId("light");
    if (button.getAttribute("aria-disabled") === "true") return;
    const boxes = this.asks.boxes();
    const open = boxes.filter((box) => !box.checked);
    if (this.chosen === null || this.shown === undefined) {
      sayNotLit(make("p", {}, "Not lit: choose a schedule first."));
      return;
    }
    if (open.length > 0) {
      const list = open.map((box) => make("li", {}, textOf(box.value)));
      sayNotLit(make("p", {}, `Not lit: ${open.length} of ${boxes.length} questions are open.`), make("ul", {}, ...list));
      return;
    }
    button.setAttribute("aria-disabled", "true");
    await this.lightConfirmed(boxes.map((box) => box.value));
    button.removeAttribute("aria-disabled");
  }

  async lightConfirmed(confirmed) {
    const { title, edition } = this.shown;
    const minutes = Number(byId("delay").value);
    try {
      await postJson("/api/light-up", { schedule: this.chosen, delay_minutes: minutes, confirmed, edition });
      sayNotLit();
      sayOutcome(minutes === 0 ? `Lit: ${title}.` : `Set for later: ${title} begins ${delayWords(minutes)}.`);
      byId("now-title").scrollIntoView();
    } catch (error) {
      sayNotLit(...refusal(error));
      // It may have been refused because the file changed: what would be lit now is what is seen.
      if (!(await this.look())) return;
      sayNotLit();
      this.showText(`Not lit: ${whyFailed(error)}`);
    }
  }
}

/** Says why nothing was lit, right above the button that was pressed, until the form is changed. */
function sayNotLit(...parts) {
  const outcome = byId("light-up-outcome");
  outcome.replaceChildren(...parts);
  if (parts.length > 0) outcome.scrollIntoView({ block: "nearest" });
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
  const fromFile = (notes ?? []).map(({ line, message, fix, weight }) => {
    const said = [message, fix].filter(Boolean).join("; ");
    return weight === "warning" ? `Warning, line ${line}: ${said}` : `Line ${line}: ${said}`;
  });
  return [...(priced.length > 0 ? [`About ${priced.join(", ")}.`] : []), ...(forecast?.notes ?? []), ...fromFile];
}

function refusal(error) {
  if (error instanceof Refused && error.body.problems) {
    return [make("p", {}, "Not lit: the file has errors."), problemList(error.body.problems)];
  }
  const missing = error instanceof Refused ? (error.body.missing ?? []) : [];
  const list = missing.length === 0 ? null : make("ul", {}, ...missing.map((id) => make("li", {}, textOf(id))));
  return [make("p", {}, `Not lit: ${whyFailed(error)}`), list].filter((part) => part !== null);
}

function problemList(problems) {
  const items = problems.map(({ file, line, column, text, message, fix }) =>
    make("li", {}, `${file}, line ${line}, column ${column}: ${message}`, make("code", {}, text), fix),
  );
  return make("ul", { class: "problems" }, ...items);
}
