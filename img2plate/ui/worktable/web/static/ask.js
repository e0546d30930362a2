// What all pages share: asking the server (what is wrong comes back as an error with the words and the field it concerns), elements.
export class Refused extends Error {
  constructor(status, words, field) { super(words); this.status = status; this.field = field; }
}

export async function ask(address, { method = "GET", words, body } = {}) {
  let answer;
  try {
    answer = await fetch(address, { method, body: words === undefined ? body : JSON.stringify(words) });
  } catch {
    throw new Refused(0, "The worktable does not answer. Is it still running in its terminal?", "");
  }
  if (answer.ok) return answer.status === 204 ? null : answer.json();
  const text = await answer.text();
  let told = { words: text, field: "" };
  try { told = JSON.parse(text).error; } catch { /* plain text */ }
  throw new Refused(answer.status, told.words, told.field);
}

// An element with properties, and children; text never becomes markup.
export function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

// A colour beside its name, which is what those are told who do not see it.
export function swatch(hex, className = "bead") {
  const round = make("span", { className });
  round.style.backgroundColor = hex;
  round.setAttribute("aria-hidden", "true");
  return round;
}

// "1 bead", "1,204 beads".
export function many(number, what) {
  return `${number.toLocaleString("en")} ${what}${number === 1 ? "" : "s"}`;
}

export const at = (id) => document.getElementById(id);
