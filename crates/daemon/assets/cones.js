// The witness cones as they should look by now: guide, firing cone and guard, bent by the heat-work.

import { byId, draw, make, onChange, setHidden, setText } from "./dom.js";
import { spanInScale, unit } from "./words.js";

// Cones are set leaning 8° (common practice of their makers).
const SET_DEG = 8;
const LEVEL_DEG = 90;
const HEIGHT = 100;
const BASE = 26;
const TIP = 4;
const SLICES = 24;

const ROLES = { guide: "guide, one cooler", firing: "firing cone", guard: "guard, one hotter" };

export function showCones(now) {
  show({
    witness: now.phase === "set-for-later" ? [] : now.witness,
    cone: now.cone,
    aim: now.firing?.cone_aim ?? null,
    doubt: doubtOf(now.uncertainty ?? null, now.firing?.scale),
  });
}

// Decimals of a cone stay in files: people read shares.
const SHARES = [
  [0.1, "a tenth of a cone"],
  [0.2, "a fifth of a cone"],
  [0.25, "a quarter of a cone"],
  [0.33, "a third of a cone"],
  [0.5, "half a cone"],
  [0.75, "three quarters of a cone"],
  [1, "one cone"],
  [1.5, "one and a half cones"],
  [2, "two cones"],
];

/** How far thermocouple and amplifier may be out, in degrees and in cones; null when not known. */
function doubtOf(uncertainty, scale) {
  if (uncertainty === null || uncertainty.cones === null) return null;
  const [least, , most] = uncertainty.cones;
  const either = (most - least) / 2;
  const nearest = (best, next) => (Math.abs(next[0] - either) < Math.abs(best[0] - either) ? next : best);
  const [, words] = SHARES.reduce(nearest);
  return `Thermocouple and amplifier may be ±${Math.round(spanInScale(uncertainty.c, scale))}\u00a0${unit(scale)} out, worth about ${words} either way.`;
}

const show = onChange(({ witness, cone, aim, doubt }) => {
  setHidden(byId("cones"), witness.length === 0);
  if (witness.length === 0) return;
  const reached = cone === null ? "No cone is near yet" : `The heat-work so far is worth cone ${cone.label}`;
  setText(byId("cone-so-far"), aim === null ? `${reached}.` : `${reached}; aiming at cone ${aim}.`);
  setHidden(byId("cone-doubt"), doubt === null);
  setText(byId("cone-doubt"), doubt ?? "");
  byId("witness").replaceChildren(...witness.map(figure));
});

function figure({ cone, role, bend_deg: bend, words }) {
  const label = `Cone ${cone}, ${ROLES[role] ?? role}: ${words}, bent ${Math.round(bend)}°`;
  return make(
    "figure",
    { class: `cone ${role}` },
    draw(
      "svg",
      { viewBox: "-22 -112 150 134", role: "img", "aria-label": label },
      draw("path", { class: "clay", d: outline(bend) }),
      draw("path", { class: "plaque", d: "M-18 0h136v12h-136z" }),
    ),
    make(
      "figcaption",
      {},
      make("b", {}, cone),
      make("span", {}, words),
      make("span", { class: "quiet" }, ROLES[role] ?? role),
    ),
  );
}

/**
 * A tapered strip whose axis bends evenly. With even curvature the chord from foot to tip leans by
 * the mean of the slopes at its ends, so the tip's slope is twice the bend less the setting; at 90°
 * the tip has come round level with the foot, which is what "down" means.
 */
export function outline(bendDeg) {
  const bend = Math.min(Math.max(bendDeg, SET_DEG), LEVEL_DEG);
  const tipDeg = 2 * bend - SET_DEG;
  const left = [];
  const right = [];
  let x = BASE / 2;
  let y = 0;
  for (let slice = 0; slice <= SLICES; slice += 1) {
    const share = slice / SLICES;
    const leanAt = (part) => ((SET_DEG + (tipDeg - SET_DEG) * part) * Math.PI) / 180;
    const lean = leanAt(share);
    const onward = leanAt(share + 0.5 / SLICES);
    const half = (BASE + (TIP - BASE) * share) / 2;
    // The foot stands flat on the plaque; above it the width lies across the axis.
    const across = slice === 0 ? 0 : lean;
    left.push([x - half * Math.cos(across), y - half * Math.sin(across)]);
    right.push([x + half * Math.cos(across), y + half * Math.sin(across)]);
    x += (HEIGHT / SLICES) * Math.sin(onward);
    y -= (HEIGHT / SLICES) * Math.cos(onward);
  }
  const points = [...left, ...right.reverse()].map(([px, py]) => `${px.toFixed(1)} ${Math.min(py, 0).toFixed(1)}`);
  return `M${points.join("L")}z`;
}
