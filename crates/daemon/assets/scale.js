// Where a value lies on a chart, which ticks an axis carries, and lines through points.

const HOUR_S = 3600;
const HOUR_STEPS = [0.25, 0.5, 1, 2, 3, 4, 6, 12, 24, 48];
const LABEL_PX = 52; // "22:30" in 12 px type, and air

/** The smallest of 1, 2, 5 × 10ⁿ that cuts `range` into at most `most` pieces. */
export function niceStep(range, most) {
  const rough = range / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((factor) => factor * power).find((step) => step >= rough * 0.999);
}

/** Ticks from `low` to `high`, both included when they fall on a step. */
export function valueTicks(low, high, most) {
  const step = niceStep(high - low, most);
  const ticks = [];
  for (let tick = Math.ceil(low / step) * step; tick <= high + step / 1000; tick += step) {
    ticks.push(Math.round(tick * 1000) / 1000);
  }
  return ticks;
}

/**
 * Ticks in seconds since light-up. With `startMs`, as `wall` gives it, they fall on round hours of
 * the kiln's clock; else on round hours since light-up.
 */
export function timeTicks(endS, widthPx, startMs) {
  const most = Math.max(2, Math.floor(widthPx / LABEL_PX));
  const step = (HOUR_STEPS.find((hours) => (endS / HOUR_S) / hours <= most) ?? HOUR_STEPS.at(-1)) * HOUR_S;
  let first = 0;
  if (startMs !== null) {
    const start = new Date(startMs);
    const sinceMidnight = start.getUTCHours() * HOUR_S + start.getUTCMinutes() * 60 + start.getUTCSeconds();
    first = Math.ceil(sinceMidnight / step) * step - sinceMidnight;
  }
  const ticks = [];
  for (let tick = first; tick <= endS; tick += step) ticks.push(tick);
  return ticks;
}

/** A straight scale from [low, high] to pixels [from, to]. */
export function linear(low, high, from, to) {
  const slope = high === low ? 0 : (to - from) / (high - low);
  return (value) => from + (value - low) * slope;
}

const at = (x, y) => `${x.toFixed(1)} ${y.toFixed(1)}`;

/** A line through points `[x, y]`; a null point lifts the pen. */
export function line(points) {
  let path = "";
  let pen = "M";
  for (const point of points) {
    if (point === null) {
      pen = "M";
      continue;
    }
    path += pen + at(point[0], point[1]);
    pen = "L";
  }
  return path;
}

/** The area between two values at each x, `[x, y, y]`; a null ends one area and begins another. */
export function ribbon(points) {
  let path = "";
  let run = [];
  for (const point of [...points, null]) {
    if (point !== null) {
      run.push(point);
      continue;
    }
    if (run.length > 0) {
      const there = run.map(([x, upper]) => at(x, upper));
      const back = run.map(([x, , lower]) => at(x, lower)).reverse();
      path += `M${there.concat(back).join("L")}z`;
    }
    run = [];
  }
  return path;
}

/** The value at `t` of a polyline given by its times and values; null outside it. */
export function valueAt(times, values, t) {
  if (times.length === 0 || t < times[0] || t > times.at(-1)) return null;
  let low = 0;
  let high = times.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t) low = middle;
    else high = middle;
  }
  const from = values[low];
  const to = values[high];
  if (from === null || to === null || times[high] === times[low]) return from;
  return from + ((to - from) * (t - times[low])) / (times[high] - times[low]);
}
