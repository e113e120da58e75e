// Draws a firing as three strips over one time axis: the temperatures; chamber minus setpoint
// (the two cover each other at full scale, so their difference has its own); and the duty.

import { draw } from "./dom.js";
import { line, linear, ribbon, timeTicks, valueTicks } from "./scale.js";
import { clock, inScale, isNumber, spanInScale, unit } from "./words.js";

const LEFT = 46;
const RIGHT = 10;
const TOP = 20;
const AXIS = 26;
const GAP = 30;
const ERROR = 62;
const DUTY = 40;
const HALF_LABEL = 32; // a label that would be cut off at the edge is left out
const HOUR_S = 3600;
// The error strip opens no narrower than this, or a quiet firing would look a wild one; and no
// wider: beyond it the strip above shows the distance.
const ERROR_SPANS = { C: [10, 20, 50], F: [20, 40, 100] };

/**
 * Everything the drawing needs, in pixels: the strips' places and scales. The lower strips have
 * their fixed heights; the temperatures get the rest.
 * `frame`: {scale, startMs, withStrips, nowS}; `data`: the daemon's curve.
 */
export function layOut(data, frame, widthPx, heightPx) {
  const mainPx = heightPx - TOP - AXIS - (frame.withStrips ? GAP + ERROR + GAP + DUTY : 0);
  const endS = endOf(data, frame);
  const x = linear(0, endS, LEFT, widthPx - RIGHT);
  const [low, high] = rangeOf(data, frame.scale);
  const main = { top: TOP, bottom: TOP + mainPx, low, high };
  main.y = linear(low, high, main.bottom, main.top);
  const layout = { x, endS, main, widthPx, heightPx };
  if (frame.withStrips) {
    const span = errorSpan(data, frame.scale);
    const top = main.bottom + GAP;
    layout.error = { top, bottom: top + ERROR, span, y: linear(-span, span, top + ERROR, top) };
    const dutyTop = top + ERROR + GAP;
    layout.duty = { top: dutyTop, bottom: dutyTop + DUTY, y: linear(0, 1, dutyTop + DUTY, dutyTop) };
  }
  return layout;
}

function endOf(data, frame) {
  const latest = Math.max(data.t_s.at(-1) ?? 0, data.planned.t_s.at(-1) ?? 0, frame.nowS ?? 0, 60);
  // In steps of a quarter of an hour, so that the axis does not creep with every second.
  return latest > HOUR_S ? Math.ceil(latest / 900) * 900 : latest;
}

function rangeOf(data, scale) {
  const measured = data.chamber_max_c.filter(isNumber);
  const coldest = data.chamber_min_c.filter(isNumber);
  const planned = data.planned.setpoint_c.filter(isNumber);
  const hottest = [...measured, ...planned].reduce((most, value) => Math.max(most, value), 60);
  const least = [...coldest, ...planned].reduce((most, value) => Math.min(most, value), 0);
  const low = Math.min(0, inScale(least, scale));
  return [low, inScale(hottest, scale) * 1.05];
}

function errorSpan(data, scale) {
  const spans = ERROR_SPANS[scale] ?? ERROR_SPANS.C;
  let most = 0;
  data.setpoint_c.forEach((setpoint, i) => {
    if (!isNumber(setpoint) || !isNumber(data.chamber_min_c[i])) return;
    const away = Math.max(Math.abs(data.chamber_min_c[i] - setpoint), Math.abs(data.chamber_max_c[i] - setpoint));
    most = Math.max(most, spanInScale(away, scale));
  });
  return spans.find((span) => most <= span) ?? spans.at(-1);
}

/** The drawing's parts, in the order they lie on each other. */
export function parts(data, frame, layout) {
  const drawn = [timeAxis(frame, layout), ...mainStrip(data, frame, layout)];
  if (layout.error) drawn.push(...errorStrip(data, frame, layout), ...dutyStrip(data, layout));
  if (isNumber(frame.nowS)) drawn.push(...nowMark(frame, layout));
  return drawn;
}

const text = (x, y, anchor, words, kind = "tick") =>
  draw("text", { class: kind, x: x.toFixed(1), y: y.toFixed(1), "text-anchor": anchor }, words);

const rule = (path, kind = "rule") => draw("path", { class: kind, d: path });

function timeAxis(frame, layout) {
  const { x, endS, main, widthPx, heightPx } = layout;
  const foot = heightPx - AXIS;
  const group = draw("g");
  for (const tick of timeTicks(endS, widthPx - LEFT - RIGHT, frame.startMs)) {
    const px = x(tick);
    group.append(rule(`M${px.toFixed(1)} ${main.top}V${foot + 4}`));
    const label = frame.startMs === null ? hoursSince(tick) : clock(frame.startMs + tick * 1000);
    if (px < widthPx - HALF_LABEL) group.append(text(px, foot + 18, "middle", label));
  }
  return group;
}

const hoursSince = (seconds) => `${Math.round(seconds / 36) / 100} h`;

function mainStrip(data, frame, layout) {
  const { x, main } = layout;
  const { scale } = frame;
  const y = (celsius) => main.y(inScale(celsius, scale));
  const group = draw("g");
  for (const tick of valueTicks(main.low, main.high, 6)) {
    const px = main.y(tick);
    group.append(rule(`M${LEFT} ${px.toFixed(1)}H${layout.widthPx - RIGHT}`), text(LEFT - 6, px + 4, "end", tick));
  }
  group.append(text(LEFT - 6, main.top - 8, "end", unit(scale), "tick name"));

  const planned = points(data.planned.t_s, data.planned.setpoint_c);
  const band = data.planned.band_c ?? 0;
  const parts = [group];
  if (band > 0) {
    const edges = planned.map((p) => p && [x(p[0]), y(p[1] + band), y(p[1] - band)]);
    parts.push(draw("path", { class: "band", d: ribbon(edges) }));
  }
  parts.push(draw("path", { class: "planned", d: line(planned.map((p) => p && [x(p[0]), y(p[1])])) }));
  parts.push(draw("path", { class: "measured", d: ribbon(measured(data, x, y)) }));
  const setpoint = points(data.t_s, data.setpoint_c).map((p) => p && [x(p[0]), y(p[1])]);
  parts.push(draw("path", { class: "setpoint", d: line(setpoint) }));
  return parts;
}

function points(times, values) {
  return times.map((t, i) => (isNumber(values[i]) ? [t, values[i]] : null));
}

function measured(data, x, y) {
  return data.t_s.map((t, i) => {
    const low = data.chamber_min_c[i];
    const high = data.chamber_max_c[i];
    return isNumber(low) && isNumber(high) ? [x(t), y(high), y(low)] : null;
  });
}

function errorStrip(data, frame, layout) {
  const { x, error, widthPx } = layout;
  const held = (celsius) => error.y(Math.min(Math.max(spanInScale(celsius, frame.scale), -error.span), error.span));
  const group = draw("g");
  const band = data.planned.band_c ?? 0;
  const [upper, lower] = [held(band).toFixed(1), held(-band).toFixed(1)];
  group.append(draw("path", { class: "band", d: `M${LEFT} ${upper}H${widthPx - RIGHT}V${lower}H${LEFT}z` }));
  for (const tick of [-error.span, 0, error.span]) {
    const px = error.y(tick);
    const kind = tick === 0 ? "zero" : "rule";
    group.append(rule(`M${LEFT} ${px.toFixed(1)}H${widthPx - RIGHT}`, kind));
    group.append(text(LEFT - 6, px + 4, "end", tick > 0 ? `+${tick}` : String(tick).replace("-", "−")));
  }
  group.append(text(LEFT, error.top - 7, "start", `Chamber − setpoint, ${unit(frame.scale)}`, "tick name"));
  const away = data.t_s.map((t, i) => {
    const setpoint = data.setpoint_c[i];
    const low = data.chamber_min_c[i];
    if (!isNumber(setpoint) || !isNumber(low)) return null;
    return [x(t), held(data.chamber_max_c[i] - setpoint), held(low - setpoint)];
  });
  return [group, draw("path", { class: "measured", d: ribbon(away) })];
}

function dutyStrip(data, layout) {
  const { x, duty, widthPx } = layout;
  const group = draw("g");
  for (const tick of [0, 1]) {
    const px = duty.y(tick);
    group.append(rule(`M${LEFT} ${px.toFixed(1)}H${widthPx - RIGHT}`, tick === 0 ? "zero" : "rule"));
    group.append(text(LEFT - 6, px + 4, "end", `${tick * 100}`));
  }
  group.append(text(LEFT, duty.top - 7, "start", "Duty of the elements, %", "tick name"));
  const share = points(data.t_s, data.duty).map((p) => p && [x(p[0]), duty.y(p[1]), duty.bottom]);
  return [group, draw("path", { class: "duty", d: ribbon(share) })];
}

function nowMark(frame, layout) {
  const px = layout.x(frame.nowS);
  const foot = layout.heightPx - AXIS;
  const marks = [rule(`M${px.toFixed(1)} ${layout.main.top}V${foot}`, "now-line")];
  if (isNumber(frame.chamberC)) {
    const py = layout.main.y(inScale(frame.chamberC, frame.scale));
    marks.push(draw("circle", { class: "now-dot", cx: px.toFixed(1), cy: py.toFixed(1), r: 4.5 }));
  }
  const side = px > layout.widthPx - 60 ? "end" : "start";
  marks.push(text(px + (side === "end" ? -5 : 5), layout.main.top - 8, side, "now", "tick name"));
  return marks;
}
