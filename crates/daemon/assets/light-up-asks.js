// What a light-up asks: the checklist, somebody at the kiln, and whether it is a proving firing.

import { sayOutcome } from "./bar.js";
import { byId, make, onChange, setHidden, setText } from "./dom.js";
import { fetchJson, postJson, whyFailed } from "./net.js";

export class LightUpAsks {
  constructor() {
    byId("press-button").addEventListener("click", press);
    this.showChecklist = onChange((checklist) => byId("checklist").replaceChildren(...checklist.map(question)));
    this.showProving = onChange(proving);
  }

  /** Fetches what is asked as it is now; answers given already stay while the questions do. */
  async load() {
    const { checklist, proving: why, switches } = await fetchJson("/api/light-up");
    this.showChecklist(checklist);
    this.showProving({ why, switches });
  }

  boxes() {
    return [...byId("checklist").querySelectorAll("input")];
  }

  forget() {
    for (const box of this.boxes()) box.checked = false;
  }

  showPresence({ light_up: { presence_shown: shown }, simulated }) {
    setHidden(byId("presence"), shown === null);
    const words = shown ? "The button at the kiln was pressed: somebody is there." : "Press the button at the kiln, then light up within 2 min.";
    setText(byId("presence-words"), shown === null ? "" : words);
    setHidden(byId("press-button"), shown !== false || simulated === null);
  }
}

/** The words of the question with this name. */
export function textOf(id) {
  const box = [...byId("checklist").querySelectorAll("input")].find(({ value }) => value === id);
  return box?.closest("label").textContent ?? id;
}

function question({ id, text }) {
  const box = make("input", { type: "checkbox", value: id });
  return make("li", {}, make("label", {}, box, make("span", {}, text)));
}

function proving({ why, switches }) {
  setHidden(byId("proving"), why === null);
  byId("proving-words").replaceChildren(...(why === null ? [] : [...why.why, ...why.advice]).map((line) => make("p", {}, line)));
  setHidden(byId("switches"), switches.length === 0);
  byId("switches").replaceChildren(...switches.map((line) => make("p", {}, line)));
}

async function press() {
  try {
    await postJson("/api/simulated/button", {});
  } catch (error) {
    sayOutcome(whyFailed(error));
  }
}
