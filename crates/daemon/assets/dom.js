// Making and filling elements. Every word from the server enters as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

export const byId = (id) => document.getElementById(id);

/** An HTML element; an attribute that is null or false is left out. */
export function make(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

/** An SVG element. */
export function draw(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** Sets text only when it differs, so that nothing is laid out or announced for nothing. */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

export function setHidden(element, hidden) {
  if (element.hidden !== hidden) element.hidden = hidden;
}

/** Runs `update` only when `value` differs from the last one, compared as JSON. */
export function onChange(update) {
  let last;
  return (value) => {
    const written = JSON.stringify(value);
    if (written === last) return;
    last = written;
    update(value);
  };
}

/** A counter, so that labels can point at elements made later. */
let made = 0;
export function freshId(stem) {
  made += 1;
  return `${stem}-${made}`;
}
