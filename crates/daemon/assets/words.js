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

export function rate(celsiusPerHour, scale) {
  if (!isNumber(celsiusPerHour)) return "not known";
  return signed(`${Math.round(spanInScale(celsiusPerHour, scale))}${THIN}${unit(scale)}/h`);
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
  return rest === 0 ? `${hours}${THIN}h` : `${hours}${THIN}h ${rest}${THIN}min`;
}

const HOUR_FORM = new Intl.DateTimeFormat(undefined, { hour: "numeric", minute: "2-digit" });
const DAY_FORM = new Intl.DateTimeFormat(undefined, { weekday: "short", hour: "numeric", minute: "2-digit" });
const DATE_FORM = new Intl.DateTimeFormat(undefined, {
  weekday: "short", day: "numeric", month: "short", year: "numeric", hour: "numeric", minute: "2-digit",
});

export const clock = (ms) => HOUR_FORM.format(new Date(ms));
export const date = (iso) => DATE_FORM.format(new Date(iso));

/** A time of day; with its weekday when it is another day than `from`. */
export function moment(iso, from) {
  if (!iso) return "not known";
  const then = new Date(iso);
  const sameDay = then.toDateString() === new Date(from).toDateString();
  return (sameDay ? HOUR_FORM : DAY_FORM).format(then);
}

/** A kebab-case name from the daemon, as words. */
export const asWords = (name) => name.replaceAll("-", " ");

export function asHeading(name) {
  const words = asWords(name);
  return words.charAt(0).toUpperCase() + words.slice(1);
}
