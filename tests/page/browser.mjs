// The browser under test: Debian's chromium with its own errands switched off, so that every request
// seen is the page's.

import { execFileSync } from "node:child_process";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { chromium } from "playwright-core";

export const ADDRESS = new URL(process.env.SAGGAR_PAGE ?? "http://127.0.0.1:8080/");
const SHOTS = process.env.SAGGAR_SHOTS;

export const SIZES = {
  phone: { width: 390, height: 844 },
  narrow: { width: 320, height: 640 },
  desktop: { width: 1280, height: 900 },
};

export async function launch() {
  return chromium.launch({
    executablePath: execFileSync("which", ["chromium"], { encoding: "utf8" }).trim(),
    args: [
      "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync",
    ],
  });
}

/** Adds up layout shifts that no person caused (the browser marks those within 0.5 s of input). */
function countShifts() {
  window.shifted = 0;
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) if (!entry.hadRecentInput) window.shifted += entry.value;
  }).observe({ type: "layout-shift", buffered: true });
}

/** Lets the page see the kiln with some things otherwise: for what no simulated firing comes to in time. */
export async function pretend(page, address, change) {
  const seen = await (await fetch(new URL("/api/now", address))).json();
  const body = `retry: 500\nevent: now\ndata: ${JSON.stringify(change(seen))}\n\n`;
  await page.route("**/api/stream", (route) => route.fulfill({ contentType: "text/event-stream", body }));
}

/** Opens the page and waits for its first snapshot; `faults` gathers whatever went wrong. */
export async function open(browser, { size = "phone", scheme = "light", address = ADDRESS, where = {}, before = async () => {} } = {}) {
  const context = await browser.newContext({ viewport: SIZES[size], colorScheme: scheme, ...where });
  const page = await context.newPage();
  const faults = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) faults.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => faults.push(`exception: ${error.message}`));
  page.on("requestfailed", (request) => faults.push(`failed: ${request.url()} ${request.failure()?.errorText}`));
  page.on("response", (response) => {
    if (response.status() >= 400) faults.push(`status ${response.status()}: ${response.url()}`);
  });
  page.on("request", (request) => {
    if (new URL(request.url()).origin !== address.origin) faults.push(`outside request: ${request.url()}`);
  });
  await page.addInitScript(countShifts);
  await before(page);
  await page.goto(address.href);
  await page.waitForFunction(() => document.getElementById("bar-phase").textContent !== "");
  return { context, page, faults };
}

/** Keeps a picture when SAGGAR_SHOTS names a folder. */
export async function keepShot(page, name) {
  if (SHOTS === undefined) return;
  mkdirSync(SHOTS, { recursive: true });
  await page.screenshot({ path: join(SHOTS, `${name}.png`) });
}

export const phaseIs = (page, phase) =>
  page.waitForFunction((wanted) => document.getElementById("bar-phase").textContent.startsWith(wanted), phase);

/** Waits until something lies wholly on the screen, covered by nothing: whichever element it is by then. */
export async function inSight(locator) {
  const late = Date.now() + 5000;
  while (Date.now() < late) {
    await locator.waitFor({ timeout: 5000 });
    if (await locator.evaluate(isInSight).catch(() => false)) return;
    await locator.page().waitForTimeout(50);
  }
  throw new Error("it does not come into sight");
}

function isInSight(element) {
  const { left, right, top, bottom } = element.getBoundingClientRect();
  const corners = [[left + 1, top + 1], [right - 1, bottom - 1]];
  return corners.every(([x, y]) => {
    const there = document.elementFromPoint(x, y);
    return there !== null && (element.contains(there) || there.contains(element));
  });
}
