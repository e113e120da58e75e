// The curve of the firing under way: history by fetch, its newest end from the stream's snapshots.

import { FiringChart } from "./chart.js";
import { byId, setHidden, setText } from "./dom.js";
import { fetchJson } from "./net.js";
import { duration, isNumber, moment, temperature, wall } from "./words.js";

// The daemon thins history to the chart's columns; asking again sooner than this would show nothing
// new, and a fast simulation would ask without pause.
const LEAST_WAIT_MS = 5000;
const COLUMNS_BEHIND = 2;
const REDRAW_MS = 900; // no eye needs it sooner, and a phone's battery is spared

export class LiveCurve {
  constructor() {
    this.chart = new FiringChart(byId("curve-chart"), "firing");
    this.id = null;
    this.data = null;
    this.asking = false;
    this.askedAtMs = -Infinity;
    this.drawnAtMs = -Infinity;
  }

  show(now) {
    const firing = now.firing;
    const begun = firing !== null && now.phase !== "set-for-later"; // before, there is nothing to see
    setHidden(byId("curve"), !begun);
    if (!begun) {
      this.id = null;
      return;
    }
    if (firing.id !== this.id) {
      this.id = firing.id;
      this.data = null;
      this.askedAtMs = -Infinity;
    }
    this.now = now;
    if (this.isBehind(firing.elapsed_s)) this.fetch(firing.id);
    if (this.data === null) return;
    this.extend(now);
    if (performance.now() - this.drawnAtMs >= REDRAW_MS) this.draw();
  }

  isBehind(elapsedS) {
    if (this.asking || performance.now() - this.askedAtMs < LEAST_WAIT_MS) return false;
    if (this.data === null) return true;
    return elapsedS - this.fetchedToS > (COLUMNS_BEHIND * Math.max(elapsedS, 60)) / this.chart.columns();
  }

  async fetch(id) {
    this.asking = true;
    this.askedAtMs = performance.now();
    try {
      const data = await fetchJson(`/api/firings/current/curve?columns=${this.chart.columns()}`);
      if (id !== this.id) return;
      this.data = data;
      this.fetchedToS = data.t_s.at(-1) ?? 0;
      this.extend(this.now);
      this.draw();
    } catch {
      // Shown by the lost line when the daemon is away; otherwise the next snapshot asks again.
    } finally {
      this.asking = false;
    }
  }

  /** Adds the snapshot to the end of the history, until the next fetch brings it thinned. */
  extend({ firing, chamber_c: chamber, setpoint_c: setpoint, banks, phase }) {
    const { data } = this;
    if (!isNumber(chamber) || firing.elapsed_s <= (data.t_s.at(-1) ?? -1)) return;
    data.t_s.push(firing.elapsed_s);
    data.chamber_min_c.push(chamber);
    data.chamber_max_c.push(chamber);
    data.setpoint_c.push(setpoint);
    data.duty.push(banks.reduce((sum, bank) => sum + bank.duty, 0) / Math.max(1, banks.length));
    data.phase.push(phase);
  }

  draw() {
    this.drawnAtMs = performance.now();
    const { firing, time, chamber_c: chamberC } = this.now;
    const startMs = wall(firing.started);
    setText(byId("curve-title"), firing.title);
    setText(byId("curve-note"), `Lit ${moment(startMs, wall(time))}.`);
    const words = `The firing so far, ${duration(firing.elapsed_s)}: ${temperature(chamberC, firing.scale)} now. The table below has the figures.`;
    this.chart.show(this.data, { scale: firing.scale, startMs, nowS: firing.elapsed_s, chamberC, words });
  }
}
