// The colours beside the plate: all beads of the palette, those that lie on it first; the one in hand.
import { at, make, swatch } from "/static/ask.js";
import { NONE } from "/static/places/hand/cells.js";

export class Colours {
  constructor() {
    this.bead = NONE;
    this.buttons = null;
    this.chosen = () => {};  // called when another colour is in hand
  }

  // Other beads to take: the one in hand stays as far as it is among them, else the one used most is.
  take(cells) {
    this.cells = cells;
    const counts = cells.counts();
    if (cells.beads[this.bead]?.code !== this.code || this.code === undefined) {
      const [most] = [...counts].sort(([, one], [, other]) => other - one);
      this.bead = cells.places.get(this.code) ?? most?.[0] ?? 0;
    }
    this.code = cells.beads[this.bead].code;
    if (this.beads === cells.beads) return;
    this.beads = cells.beads;
    this.buttons = new Map(cells.beads.map((bead, place) => [place, this.#button(bead, place)]));
    const places = [...this.buttons.keys()].sort((one, other) => counts.has(other) - counts.has(one) || one - other);
    at("hand-colours").replaceChildren(...places.map((place) => make("li", {}, this.buttons.get(place))));
  }

  choose(bead) {
    if (bead === NONE) return;
    const isOther = bead !== this.bead;
    this.bead = bead;
    this.code = this.cells.beads[bead].code;
    for (const [place, button] of this.buttons) {
      if (button.ariaPressed !== String(place === bead)) button.ariaPressed = place === bead;
    }
    if (isOther) this.chosen();
  }

  named(symbol) {
    const place = this.cells.beads.findIndex((bead) => bead.symbol === symbol);
    if (place >= 0) this.choose(place);
  }

  // How many of each lie there, and how many are missing: [code, beads] of those that are.
  count(counts, short) {
    const missing = new Map(short ?? []);
    for (const [place, button] of this.buttons) {
      const gone = missing.get(this.beads[place].code);
      const words = (counts.get(place) ?? 0).toLocaleString("en") + (gone ? `, ${gone.toLocaleString("en")} short` : "");
      if (button.lastChild.textContent !== words) button.lastChild.textContent = words;
    }
    this.choose(this.bead);
  }

  // A colour, with those that go with it in small.
  #button({ code, name, hex, symbol, companions }, place) {
    const dots = [hex, ...companions.map((each) => this.beads[each].hex)].map((colour, number) => swatch(colour, number ? "dot" : "bead"));
    const others = companions.map((each) => this.beads[each].code).join(" and ");
    const button = make("button", { type: "button", className: "of-hand", title: others ? `goes with ${others}` : "" }, ...dots, make("span", {}, `${code} ${name}`), make("kbd", { title: "type this on the plate to take the colour" }, symbol), make("span", { className: "count" }));
    button.addEventListener("click", () => this.choose(place));
    return button;
  }
}
