// Orders from the page, each test on a kiln of its own.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { after, before, test } from "node:test";
import { inSight, launch, open, phaseIs, pretend } from "./browser.mjs";
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

/** The page of a kiln that fires a schedule; `done` ends both. */
async function firing(schedule, { text, change } = {}) {
  const kiln = await daemon();
  if (text !== undefined) writeFileSync(kiln.schedule(schedule), text);
  await kiln.lightUp(schedule);
  const before = (page) => (change === undefined ? undefined : pretend(page, kiln.address, change));
  const { context, page, faults } = await open(browser, { address: kiln.address, before });
  const done = async () => {
    await context.close();
    await kiln.stop();
  };
  return { kiln, page, faults, done };
}

test("a segment without a soak is left by name of what comes next, and the last ends the firing, both asked first, and that is undone", async () => {
  const { kiln, page, faults, done } = await firing("two.toml", { text: TWO_CLIMBS });
  await phaseIs(page, "climbing");
  await page.getByText("More orders").click();
  assert.equal(await page.getByRole("button", { name: "Go to the soak now" }).count(), 0);
  await page.getByRole("button", { name: "Next segment now", disabled: false }).click();
  await page.getByText("Skip to the climb to 700 °C at 60 °C/h? It cannot be taken back.").waitFor();
  await page.getByRole("button", { name: "Yes, next segment" }).click();
  await page.getByRole("button", { name: "End the firing here", disabled: false }).click();
  await page.getByText("the heating ends. For ten minutes that can be undone.").waitFor();
  assert.equal((await kiln.now()).phase, "climbing");
  await page.getByRole("button", { name: "Yes, end the firing" }).click();
  await phaseIs(page, "cooling");
  await page.waitForFunction(() => document.activeElement.id === "undo-shut-off");
  const undo = page.getByRole("button", { name: "Carry on after all", disabled: false });
  await inSight(page.getByText("Heats again where it was ended, for ten minutes at most."));
  await undo.click();
  await phaseIs(page, "climbing");
  assert.equal((await kiln.now()).firing.segment, 2);
  assert.deepEqual(faults, []);
  await done();
});

test("a refused order says why right where it was pressed, in sight", async () => {
  const { page, done } = await firing("bisque.toml");
  const why = "There is nothing of the kind to do just now.";
  await page.route("**/api/orders", (route) => route.fulfill({ status: 409, json: { outcome: "refused", why } }));
  const press = page.getByRole("button", { name: "Stay here", disabled: false });
  await press.evaluate((button) => window.scrollTo(0, button.getBoundingClientRect().bottom + window.scrollY - 760)); // its row lies half below the bar
  await press.click();
  const said = page.locator("#orders").getByText(`Not done: ${why}`);
  await inSight(said);
  const [pressed, words] = [await press.boundingBox(), await said.boundingBox()];
  assert.ok(words.y - pressed.y < 150, "far from the button");
  await done();
});

test("after a shut-off its undoing is in sight from the foot of the page, and carries on", async () => {
  const { kiln, page, faults, done } = await firing("bisque.toml");
  await phaseIs(page, "climbing");
  await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
  await page.locator("#shut-off").click();
  await phaseIs(page, "cooling");
  const undo = page.getByRole("button", { name: "Carry on after all", disabled: false });
  await inSight(undo);
  await undo.click();
  await phaseIs(page, "climbing");
  assert.equal((await kiln.now()).phase, "climbing");
  await page.locator("#undo").waitFor({ state: "hidden" });
  assert.deepEqual(faults, []);
  await done();
});

test("the keyboard that shut off finds the undoing next, and a key held down does not press it", async () => {
  const { kiln, page, done } = await firing("bisque.toml");
  await phaseIs(page, "climbing");
  await page.locator("#shut-off").focus();
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.activeElement.id === "undo-shut-off");
  await page.keyboard.press("Enter");
  assert.equal((await kiln.now()).phase, "cooling");
  await done();
});

test("no cone is noted that nobody chose", async () => {
  const { page, done } = await firing("bisque.toml");
  const sent = [];
  page.on("request", (request) => {
    if (request.url().endsWith("/api/orders")) sent.push(request.postDataJSON().order);
  });
  await page.getByText("More orders").click();
  const note = page.getByRole("button", { name: "Note a cone seen", disabled: false });
  await note.click();
  await inSight(page.getByText("Not noted yet: choose the cone and how far it has bent."));
  assert.deepEqual(sent, []);
  await page.getByLabel("Which cone").selectOption("04");
  await page.getByLabel("How far it has bent").selectOption("45");
  await note.click();
  await page.getByText("Noted: cone 04, half way over.").waitFor();
  assert.deepEqual(sent, [{ "cone-seen": { cone: "04", bend_deg: 45 } }]);
  await done();
});

test("a firing in Fahrenheit names no degree Celsius", async () => {
  const inF = (now) => ({
    ...now,
    sentence: "Climbing.",
    firing: { ...now.firing, scale: "F", next: null },
    uncertainty: { c: 5, cones: [5.8, 6, 6.2] },
  });
  const { page, done } = await firing("bisque.toml", { change: inF });
  await page.getByText("may be ±9 °F out").waitFor();
  const named = await page.locator("main").evaluate((main) => main.innerText.match(/.*°C.*/g) ?? []);
  assert.deepEqual(named, []);
  await done();
});
