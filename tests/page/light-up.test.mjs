// Lighting a firing from the page, each test on a kiln of its own.

import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { after, before, test } from "node:test";
import { launch, open } from "./browser.mjs";
import { daemon } from "./daemon.mjs";

let browser;
before(async () => {
  browser = await launch();
});
after(() => browser.close());

const light = (page) => page.getByRole("button", { name: /^Light up/ }).click();

async function choose(page, name) {
  await page.getByRole("radio", { name }).check();
  await page.locator("#plan").waitFor();
  for (const box of await page.locator("#checklist input").all()) await box.check();
}

test("a file changed while it is looked at is not lit, but shown anew, and then lit", async () => {
  const kiln = await daemon();
  const { context, page } = await open(browser, { address: kiln.address });
  await choose(page, /Bisque/);
  const file = kiln.schedule("bisque.toml");
  writeFileSync(file, readFileSync(file, "utf8").replace("to = 1056", "to = 1040"));
  await light(page);
  await page.getByText("changed since you looked at it: look again").waitFor();
  assert.equal((await kiln.now()).firing, null);
  await page.locator("#plan-text", { hasText: "to = 1040" }).waitFor(); // seen, not folded away
  await light(page);
  await page.waitForFunction(() => document.getElementById("bar-phase").textContent.startsWith("climbing"));
  await context.close();
  await kiln.stop();
});

test("a schedule chosen again shows its file as it is by then", async () => {
  const kiln = await daemon();
  const { context, page } = await open(browser, { address: kiln.address });
  await choose(page, /Bisque/);
  const file = kiln.schedule("bisque.toml");
  writeFileSync(file, readFileSync(file, "utf8").replace("to = 1056", "to = 1040"));
  await choose(page, /Lustre/);
  await choose(page, /Bisque/);
  await page.waitForFunction(() => document.getElementById("plan-text").textContent.includes("to = 1040"));
  await context.close();
  await kiln.stop();
});
