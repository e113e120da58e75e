// Numbers, times and names as a potter reads them.

const THIN = "\u00a0"; // a number and its unit stay on one line

const inScale = (celsius, scale) => (scale === "F" ? celsius * 1.8 + 32 : celsius);
const spanInScale = (celsius, scale) => (scale === "F" ? celsius * 1.8 : celsius);
const isNumber = (value) => typeof value === "number" && Number.isFinite(value);

export { inScale, isNumber, spanInScale };

export const unit = (scale) => (scale === "F" ? "°F" : "°C");

const signed = (text) => text.replace("-", "−");

export function temperature(celsius, scale, missing = "not known") {
  if (!isNumber(celsius)) return missing;
  return signed(`${Math.round(inScale(celsius, scale))}${THIN}${unit(scale)}`);
}

/** A difference of temperatures, with one decimal and its sign. */
export function difference(celsius, scale) {
  const span = spanInScale(celsius, scale);
  const sign = span >= 0.05 ? "+" : "";
  return signed(`${sign}${span.toFixed(1)}${THIN}${unit(scale)}`);
}

/** How fast it moves, said without a sign. */
export function rate(celsiusPerHour, scale) {
  if (!isNumber(celsiusPerHour)) return "not known";
  const degrees = Math.round(spanInScale(celsiusPerHour, scale));
  if (degrees === 0) return "steady";
  return `${degrees > 0 ? "rising" : "falling"} ${Math.abs(degrees)}${THIN}${unit(scale)}/h`;
}

export function percent(share) {
  return `${Math.round(share * 100)}${THIN}%`;
}

export function duration(seconds) {
  if (!isNumber(seconds)) return "not known";
  const minutes = Math.round(Math.max(0, seconds) / 60);
  const hours = Math.floor(minutes / 60);
  if (hours === 0) return `${minutes}${THIN}min`;
  const rest = minutes % 60;
  return rest === 0 ? `${hours}${THIN}h` : `${hours}${THIN}h${THIN}${rest}${THIN}min`;
}

/** How far ahead, no finer than a forecast is good for. */
export function roughly(seconds) {
  const hours = seconds / 3600;
  if (hours < 1) return duration(seconds);
  const halves = hours < 6 ? Math.round(hours * 2) : Math.round(hours) * 2;
  return `${Math.floor(halves / 2)}${halves % 2 === 1 ? "½" : ""}${THIN}h`;
}

/** Keeps numbers and their units on one line. */
export const unbroken = (text) => text.replace(/(\d) (?=(°|h\b|min\b|s\b|%))/g, `$1${THIN}`);

// Every time on the page is the kiln's own: what its clock showed, read as if it were UTC, so that
// neither the browser's zone nor its habits change it. A day has 24 hours.
const OWN = { timeZone: "UTC", hourCycle: "h23", hour: "2-digit", minute: "2-digit" };
const HOUR_FORM = new Intl.DateTimeFormat("en-GB", OWN);
const DAY_FORM = new Intl.DateTimeFormat("en-GB", { ...OWN, weekday: "short" });
const DATE_FORM = new Intl.DateTimeFormat("en-GB", { ...OWN, weekday: "short", day: "numeric", month: "short", year: "numeric" });
const DAY_MS = 86_400_000;

/** What the kiln's clock showed at a time of the daemon's, in ms. */
export const wall = (iso) => Date.parse(`${iso.slice(0, 19)}Z`);

export const clock = (wallMs) => HOUR_FORM.format(wallMs);
export const date = (iso) => DATE_FORM.format(wall(iso));

/** A time of day; with its weekday when it is another day than `fromMs`. Both as `wall` gives them. */
export function moment(wallMs, fromMs) {
  const sameDay = Math.floor(wallMs / DAY_MS) === Math.floor(fromMs / DAY_MS);
  return (sameDay ? HOUR_FORM : DAY_FORM).format(wallMs);
}

const HEATING = ["set-for-later", "climbing", "soaking", "slow-cooling", "staying"];

/** Whether a schedule is being followed: not while the kiln only cools after it. */
export function isUnderWay({ phase, firing }) {
  return HEATING.includes(phase) || (phase === "cooling" && isNumber(firing?.segment));
}

/** A kebab-case name from the daemon, as words. */
export const asWords = (name) => name.replaceAll("-", " ");

export function asHeading(name) {
  const words = asWords(name);
  return words.charAt(0).toUpperCase() + words.slice(1);
}
