// The page: hands each snapshot to the parts that show it, and speaks when the connection is lost.

import { showBar } from "./bar.js";
import { showCones } from "./cones.js";
import { byId, setHidden, setText } from "./dom.js";
import { LiveCurve } from "./live-curve.js";
import { LightUp } from "./light-up.js";
import { follow } from "./net.js";
import { announce, showNow } from "./now.js";
import { buildOrders } from "./orders.js";
import { PastFirings } from "./past.js";
import { isUnderWay } from "./words.js";

const curve = new LiveCurve();
const lightUp = new LightUp();
const past = new PastFirings();
const showOrders = buildOrders();

let stageShown;
let taughtShown;
let lowerReady = false;

// Schedules and past firings come by their own fetches. They are unveiled together, below what the
// first snapshot shows and once their sizes are known, so that nothing already seen moves.
async function loadLower() {
  await Promise.allSettled([lightUp.load(), past.load()]);
  lowerReady = lightUp.schedules !== null;
}
loadLower();

function showKiln(now) {
  setText(byId("kiln-name"), now.kiln.name);
  setHidden(byId("simulated"), now.simulated === null);
  if (now.simulated !== null) {
    const speed = now.simulated.speed;
    const pace = speed === 1 ? "at real speed" : `${speed} × real speed`;
    setText(byId("simulated"), `Simulated kiln — nothing is hot · ${pace}`);
  }
  const where = now.firing === null ? now.kiln.name : `${now.firing.title}, ${now.kiln.name}`;
  const title = `${now.simulated === null ? "" : "Simulated: "}${where} – Saggar`;
  if (document.title !== title) document.title = title;
}

function onNow(now) {
  document.body.classList.toggle("under-way", isUnderWay(now));
  showKiln(now);
  showNow(now);
  showBar(now);
  showCones(now);
  showOrders(now);
  curve.show(now);
  lightUp.show(now);
  if (lowerReady) {
    setHidden(byId("light-up"), isUnderWay(now));
    setHidden(byId("past"), false);
  }
  announce(now);

  // A firing is among the past ones from the end of its heating on, and whole when it is cool enough.
  const stage = `${now.firing?.id} ${isUnderWay(now) || now.phase}`;
  if (stageShown !== undefined && stageShown !== stage) {
    // A kiln at another temperature, or with other files, does otherwise with every schedule.
    if (isUnderWay(now)) past.load();
    else loadLower();
  }
  stageShown = stage;
  // What a firing taught is known a while after its end, and schedules are told otherwise from then on.
  if (taughtShown !== undefined && taughtShown !== now.taught) lightUp.load().catch(() => {});
  taughtShown = now.taught;
}

// The line may be cut, or the program ended, or the power: from here they look alike.
const UNSEEN = "Whether the kiln goes on cannot be seen from here: if in doubt, look at the kiln.";

function onLost(seconds) {
  if (seconds < 3) return; // a hand-over between access points is no news
  const line = byId("lost");
  setText(line, `Not connected since ${seconds} s. ${UNSEEN}`);
  if (line.hidden) setText(byId("said"), `Not connected. ${UNSEEN}`);
  setHidden(line, false);
  document.body.classList.add("stale");
}

function onFound() {
  if (!byId("lost").hidden) setText(byId("said"), "Connected again.");
  loadLower();
  setHidden(byId("lost"), true);
  document.body.classList.remove("stale");
}

follow({ onNow, onLost, onFound });
