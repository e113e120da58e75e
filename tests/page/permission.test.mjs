// What a light-up asks beside the checklist: a proving firing's words, and somebody at the kiln.

import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { inSight, launch, open, phaseIs } from "./browser.mjs";
import { daemon } from "./daemon.mjs";

const BUTTON = '\n[[contact]]\nsenses = "presence button"\n';

let browser;
let folder;
before(async () => {
  browser = await launch();
  folder = mkdtempSync(join(tmpdir(), "saggar-kiln-"));
  writeFileSync(join(folder, "kiln.toml"), readFileSync("config/kilns/simulated.toml", "utf8") + BUTTON);
});
after(async () => {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
});

for (const size of ["phone", "desktop"]) {
  test(`on a ${size} a kiln with a button is lit once it was pressed, and its first firing is told as a proving one`, async () => {
    const kiln = await daemon({ more: ["--kiln", join(folder, "kiln.toml")] });
    const { context, page, faults } = await open(browser, { size, address: kiln.address });
    await page.getByRole("radio", { name: /Bisque/ }).check();
    await page.locator("#plan").waitFor();
    await page.getByRole("heading", { name: "A proving firing" }).waitFor();
    await page.getByText("No firing with these parts has run to its end yet.").waitFor();
    for (const box of await page.locator("#checklist input").all()) await box.check();
    const light = page.getByRole("button", { name: /^Light up/ });
    await light.click();
    await inSight(page.getByText("Not lit: Press the button at the kiln"));
    assert.equal(await page.locator("#checklist input:checked").count(), 5, "what was confirmed stays");
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(wide <= 0, `${wide} px too wide`);
    await page.getByRole("button", { name: "Press the simulated kiln’s button" }).click();
    await page.getByText("The button at the kiln was pressed: somebody is there.").waitFor();
    await light.click();
    await phaseIs(page, "climbing");
    await page.locator("#facts").getByText("Proving firing").waitFor();
    // Lit anew without another press it would be refused; that it is asked again shows in the words.
    assert.equal((await kiln.now()).light_up.presence_shown, false);
    assert.deepEqual(faults.filter((fault) => !fault.includes("409")), []);
    await context.close();
    await kiln.stop();
  });
}

test("a kiln without a button shows neither the button nor words about it", async () => {
  const kiln = await daemon();
  const { context, page } = await open(browser, { size: "phone", address: kiln.address });
  await page.getByRole("radio", { name: /Bisque/ }).check();
  await page.locator("#checklist").getByText("I stand at the kiln now").waitFor();
  assert.ok(await page.locator("#presence").isHidden());
  await context.close();
  await kiln.stop();
});
