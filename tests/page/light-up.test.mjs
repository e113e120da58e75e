// Lighting a firing from the page, each test on a kiln of its own.

import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { inSight, launch, open, phaseIs, pretend } from "./browser.mjs";
import { contrasts } from "./contrast.mjs";
import { daemon } from "./daemon.mjs";
import { throughRelay } from "./relay.mjs";

let browser;
before(async () => {
  browser = await launch();
});
after(() => browser.close());

/** The page of a kiln at rest; `done` ends both. */
async function atRest({ size = "phone", scheme = "light", before: prepare = () => {} } = {}) {
  const kiln = await daemon();
  const { context, page, faults } = await open(browser, { size, scheme, address: kiln.address, before: (page) => prepare(page, kiln) });
  await page.locator("#light-up").waitFor();
  const done = async () => {
    await context.close();
    await kiln.stop();
  };
  return { kiln, page, faults, done };
}

const TEXT_RATIO = 4.5; // WCAG 2.2, 1.4.3
const GRAPHICS_RATIO = 3; // WCAG 2.2, 1.4.11

const light = (page) => page.getByRole("button", { name: /^Light up/ }).click();

async function choose(page, name) {
  await page.getByRole("radio", { name }).check();
  await page.locator("#plan").waitFor();
  for (const box of await page.locator("#checklist input").all()) await box.check();
}

function edit(file) {
  writeFileSync(file, readFileSync(file, "utf8").replace("to = 1056", "to = 1040"));
}

test("a schedule shows its plan and its text when chosen", async () => {
  const { page, faults, done } = await atRest({ size: "desktop" });
  await page.getByRole("radio", { name: /Lustre/ }).check();
  await page.waitForFunction(() => (document.querySelector("#plan-chart .planned")?.getAttribute("d").length ?? 0) > 10);
  await page.getByText("The schedule as text").click();
  assert.match(await page.locator("#plan-text").textContent(), /\[\[segment\]\]/);
  assert.deepEqual(faults, []);
  await done();
});

test("a file changed while it is looked at is not lit, but shown anew, and then lit", async () => {
  const { kiln, page, done } = await atRest();
  await choose(page, /Bisque/);
  edit(kiln.schedule("bisque.toml"));
  await light(page);
  await inSight(page.getByText("changed since you looked at it: look again"));
  assert.equal((await kiln.now()).firing, null);
  await page.locator("#plan-text", { hasText: "to = 1040" }).waitFor(); // seen, not folded away
  await light(page);
  await phaseIs(page, "climbing");
  await done();
});

test("a schedule chosen again shows its file as it is by then", async () => {
  const { kiln, page, done } = await atRest();
  await choose(page, /Bisque/);
  edit(kiln.schedule("bisque.toml"));
  await choose(page, /Lustre/);
  await choose(page, /Bisque/);
  await page.waitForFunction(() => document.getElementById("plan-text").textContent.includes("to = 1040"));
  await done();
});

test("on a phone, why nothing is lit stands in sight, above the button that was pressed", async () => {
  const { page, done } = await atRest();
  await light(page);
  await inSight(page.getByText("Not lit: choose a schedule first."));
  await page.getByRole("radio", { name: /Bisque/ }).check();
  await page.locator("#plan").waitFor();
  await page.locator("#checklist input").first().check();
  await light(page);
  await inSight(page.getByText("Not lit: 4 of 5 questions are open."));
  await inSight(page.getByRole("button", { name: /^Light up/ }));
  await done();
});

test("what was refused of unanswered questions is taken back with the first answer", async () => {
  const { page, done } = await atRest();
  await page.getByRole("radio", { name: /Bisque/ }).check();
  await page.locator("#plan").waitFor();
  await light(page);
  const refused = page.getByText("Not lit: 5 of 5 questions are open.");
  await refused.waitFor();
  await page.locator("#checklist input").first().check();
  await refused.waitFor({ state: "detached" });
  assert.equal(await page.locator("#light-up-outcome").textContent(), "");
  await done();
});

test("a light-up for later is cancelled by that name, and leaves a kiln at rest", async () => {
  const { kiln, page, done } = await atRest();
  await choose(page, /Bisque/);
  await page.getByLabel("Begin").selectOption("60");
  await light(page);
  await page.getByText("Set for later: Bisque, cone 04 begins in 1 h.").waitFor();
  await phaseIs(page, "set for later");
  await page.getByRole("button", { name: "Cancel light-up" }).click();
  await page.getByText("Light-up cancelled.").waitFor();
  await page.locator("#shut-off").waitFor({ state: "hidden" });
  await phaseIs(page, "resting");
  for (const part of ["undo", "curve", "facts > *"]) assert.equal(await page.locator(`#${part}`).filter({ visible: true }).count(), 0, part);
  await page.locator("#light-up-form").waitFor();
  assert.equal((await kiln.now()).contactor, false);
  await done();
});

test("when a firing ends nothing is chosen or confirmed for the next", async () => {
  const { kiln, page, done } = await atRest();
  await choose(page, /Bisque/);
  await light(page);
  await phaseIs(page, "climbing");
  await page.locator("#light-up").waitFor({ state: "hidden" });
  await kiln.order("shut-off");
  await page.locator("#light-up-form").waitFor();
  assert.equal(await page.locator("#light-up-form input:checked").count(), 0);
  assert.ok(await page.locator("#plan").isHidden());
  await done();
});

const card = (page, name) => page.locator(".card", { hasText: name }).locator(".told");

test("when a firing ends the cards tell every schedule as its file is by then", async () => {
  const { kiln, page, done } = await atRest();
  await card(page, "Bisque").getByText("to 1056 °C").waitFor();
  await kiln.lightUp("bisque.toml");
  await phaseIs(page, "climbing");
  edit(kiln.schedule("bisque.toml"));
  await kiln.order("shut-off");
  await page.locator("#light-up-form").waitFor();
  await card(page, "Bisque").getByText("to 1040 °C").waitFor();
  await done();
});

test("the cards of a page that stays open tell times by the kiln file that the program was started anew with", async () => {
  const folder = mkdtempSync(join(tmpdir(), "saggar-page-"));
  const weak = join(folder, "weak.toml");
  const file = new URL("../../config/kilns/simulated.toml", import.meta.url);
  writeFileSync(weak, readFileSync(file, "utf8").replaceAll("rating_w = 5000", "rating_w = 1000"));
  const kilns = [await daemon(), await daemon({ more: ["--kiln", weak] })];
  const relay = await throughRelay(kilns[0].address);
  const { context, page } = await open(browser, { address: relay.address });
  await card(page, "Bisque").getByText(/\d.h/).waitFor();
  await relay.cut();
  await page.getByText(/^Not connected since/).waitFor();
  await relay.mend(kilns[1].address);
  await card(page, "Bisque").getByText("this kiln does not get there").waitFor();
  await context.close();
  await relay.cut();
  for (const kiln of kilns) await kiln.stop();
  rmSync(folder, { recursive: true });
});

test("a plan that is looked at tells times by what a firing taught as soon as it has", async () => {
  const kiln = await daemon({ speed: 3600 });
  const segment = "[[segment]]\nrate = 160\nto = 420\n"; // two hours and 300 °C teach
  writeFileSync(kiln.schedule("teaches.toml"), `title = "Teaches"\nscale = "C"\n\n${segment}`);
  const { context, page, faults } = await open(browser, { address: kiln.address });
  await kiln.lightUp("teaches.toml");
  await phaseIs(page, "cooling");
  await page.getByRole("radio", { name: /Bisque/ }).check();
  await page.locator("#plan-words", { hasText: "forecast by the kiln file." }).waitFor();
  await page.locator("#plan-words", { hasText: "forecast by an earlier firing." }).waitFor({ timeout: 60_000 });
  assert.equal((await kiln.now()).taught, 1);
  assert.deepEqual(faults, []);
  await context.close();
  await kiln.stop();
});

test("a hot kiln's temperature is told where a schedule is chosen, and that the firing joins it there", async () => {
  const hot = (page, kiln) => pretend(page, kiln.address, (now) => ({ ...now, chamber_c: 412.3 }));
  const { page, done } = await atRest({ before: hot });
  await page.getByRole("radio", { name: /Bisque/ }).check();
  await page.getByText(/The kiln is at 412.°C, and joins the schedule there/).waitFor();
  await done();
});

for (const scheme of ["light", "dark"]) {
  test(`in ${scheme} what is chosen, asked and refused before lighting stands out from the paper`, async () => {
    const { page, done } = await atRest({ scheme });
    await page.getByRole("radio", { name: /Bisque/ }).check();
    await page.locator("#plan").waitFor();
    await light(page);
    await page.getByText("questions are open").waitFor();
    const words = [".card .title", ".card .quiet", "#plan-words", ".notes li", "#checklist span", ".caution p", "#light", ".refused", "#delay-words"];
    const texts = await contrasts(page, words, "color");
    assert.ok(texts.length >= words.length);
    for (const { what, ratio } of texts) assert.ok(ratio >= TEXT_RATIO, `${what} has ${ratio.toFixed(2)}:1`);
    const edges = [...await contrasts(page, [".card", "#delay"], "borderTopColor"), ...await contrasts(page, [".sketch .planned"], "stroke")];
    for (const { what, ratio } of edges) assert.ok(ratio >= GRAPHICS_RATIO, `${what} has ${ratio.toFixed(2)}:1`);
    await done();
  });
}
