// The colours of the palette in hand, as beads: each is switched off and on, and takes the number that is owned.
import { at, make, swatch } from "/static/ask.js";

// In each order what lies on the plate comes first.
const ORDERS = {
  hue: (a, b) => used(b) - used(a) || a.hue - b.hue,
  light: (a, b) => used(b) - used(a) || a.light - b.light,
  beads: (a, b) => (b.beads ?? 0) - (a.beads ?? 0) || a.hue - b.hue,
};
const WHY = { only: "off: not among --only", finish: "off: another finish" };

export class Colours {
  // list: where they go; steps: what can be done with them.
  constructor(list, steps) {
    Object.assign(this, { list, steps });
    this.rows = new Map();
    this.palette = "";
    this.order = "hue";
    this.isCounted = false;
    for (const radio of document.querySelectorAll("input[name=beads-order]")) {
      radio.addEventListener("change", () => { this.order = radio.value; this.#lay(); });
    }
    at("all-on").addEventListener("click", () => this.#allOn());
  }

  show({ palette, beads }) {
    const isNew = palette !== this.palette || beads.some(({ code }) => !this.rows.has(code));
    if (isNew) {
      this.palette = palette;
      this.rows = new Map(beads.map((bead) => [bead.code, this.#row(bead)]));
    }
    for (const bead of beads) this.#put(this.rows.get(bead.code), bead);
    at("all-on").hidden = !beads.some((bead) => bead.off);
    const isCounted = beads.some((bead) => bead.beads !== null);
    this.list.classList.toggle("before", !isCounted);
    if (isNew || (isCounted && !this.isCounted)) this.#lay();
    this.isCounted = isNew ? isCounted : this.isCounted || isCounted;
  }

  // All numbers that are written beside the colours, by code.
  owned() {
    return Object.fromEntries([...this.rows].map(([code, row]) => [code, row.input.value.trim()]).filter(([, count]) => count));
  }

  // Order changes only when it is asked for: no row is to be taken from under a hand.
  #lay() {
    const rows = [...this.rows.values()].sort((a, b) => ORDERS[this.order](a.bead, b.bead));
    this.list.replaceChildren(...rows.map((row) => row.element));
  }

  #row(bead) {
    const round = swatch(bead.hex);
    const count = make("span", { className: "count" });
    const name = make("span", { className: "name" }, make("b", {}, bead.code), ` ${bead.name}`);
    const button = make("button", { type: "button", className: "colour" }, round, name, count);
    const input = make("input", { type: "text", inputMode: "numeric", autocomplete: "off", maxLength: 9, placeholder: "owned" });
    input.setAttribute("aria-label", `${bead.code} ${bead.name}: beads you own`);
    const said = make("span", { className: "short" });
    const wrong = make("span", { className: "wrong" });
    wrong.setAttribute("role", "status");
    const row = { bead, button, count, input, said, wrong, seen: "", saving: 0, element: make("li", {}, button, input, said, wrong) };
    button.addEventListener("click", () => this.#switch(row));
    input.addEventListener("change", () => this.#own(row));
    return row;
  }

  #put(row, bead) {
    row.bead = bead;
    row.element.classList.toggle("off", bead.off !== "");
    row.button.setAttribute("aria-pressed", String(bead.off === ""));
    row.button.disabled = bead.off === "finish";
    if (bead.off) row.count.textContent = WHY[bead.off] ?? "off";
    else if (bead.beads !== null) row.count.textContent = bead.beads.toLocaleString("en");
    else if (!/^\d/.test(row.count.textContent)) row.count.textContent = "…";  // else what it was stays, in grey
    if (bead.beads !== null) row.said.textContent = bead.missing ? `${bead.missing.toLocaleString("en")} missing` : "";
    const isWritten = row.input === document.activeElement && row.input.value !== row.seen;
    if (isWritten || row.saving || row.wrong.textContent) return;
    row.seen = bead.owned === null ? "" : String(bead.owned);
    row.input.value = row.seen;
  }

  #switch({ bead: { code, off }, wrong }) {
    this.steps.change("settings", () => {
      const { without, only, ...settings } = this.steps.settings();
      const left = codes(without).filter((each) => each !== code);
      return { settings: {
        ...settings,
        without: off ? left : [...left, code],
        only: off === "only" ? [...codes(only), code] : codes(only),
      } };
    }, wrong);
  }

  #allOn() {
    this.steps.change("settings", () => {
      const { without: _, only: __, finish: ___, ...settings } = this.steps.settings();
      return { settings };
    }, at("beads-trouble"));
  }

  async #own(row) {
    row.input.removeAttribute("aria-invalid");
    row.saving += 1;  // until the server knows it, nothing older may be written over it
    await this.steps.change("owned", () => ({ owned: this.owned() }), row.wrong);
    row.saving -= 1;
    if (row.wrong.textContent) row.input.setAttribute("aria-invalid", "true");
  }
}

function used({ beads }) {
  return beads ? 1 : 0;
}

// Codes as a list, however they were written.
function codes(words = []) {
  return [words].flat().flatMap((word) => word.split(/[\s,]+/)).filter(Boolean);
}
