// Orders from the page, each test on a kiln of its own.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { after, before, test } from "node:test";
import { launch, open } from "./browser.mjs";
import { daemon } from "./daemon.mjs";

let browser;
before(async () => {
  browser = await launch();
});
after(() => browser.close());

const TWO_CLIMBS = `title = "Two climbs"
scale = "C"
[[segment]]
rate = 100
to = 600
[[segment]]
rate = 60
to = 700
`;

const phaseIs = (page, phase) =>
  page.waitForFunction((wanted) => document.getElementById("bar-phase").textContent.startsWith(wanted), phase);

test("a segment without a soak is left by name of what comes next, and the last ends the firing, both asked first", async () => {
  const kiln = await daemon();
  writeFileSync(kiln.schedule("two.toml"), TWO_CLIMBS);
  await kiln.lightUp("two.toml");
  const { context, page, faults } = await open(browser, { address: kiln.address });
  await phaseIs(page, "climbing");
  assert.equal(await page.getByRole("button", { name: "Go to the soak now" }).count(), 0);
  await page.getByRole("button", { name: "Next segment now", disabled: false }).click();
  await page.getByText("Skip to the climb to 700 °C at 60 °C/h? It cannot be taken back.").waitFor();
  await page.getByRole("button", { name: "Yes, next segment" }).click();
  await page.getByRole("button", { name: "End the firing here", disabled: false }).click();
  await page.getByText("the heating ends, and cannot be begun again").waitFor();
  assert.equal((await kiln.now()).phase, "climbing");
  await page.getByRole("button", { name: "Yes, end the firing" }).click();
  await phaseIs(page, "cool");
  assert.deepEqual(faults, []);
  await context.close();
  await kiln.stop();
});
