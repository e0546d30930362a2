// The plate under one's hands: beads put, taken, swapped and moved, each stroke saved as it is made.
import { ask, at, make, swatch } from "/static/ask.js";
import { Cells, NONE } from "/static/places/hand/cells.js";
import { Drawn } from "/static/places/hand/drawn.js";
import { Reach } from "/static/places/hand/reach.js";
import { Strew } from "/static/places/hand/strew.js";
import { Strokes } from "/static/places/hand/strokes.js";

const VIEWS = [["", "as they are"], ["grey", "in grey"], ["protanopia", "without red cones"], ["deuteranopia", "without green cones"], ["tritanopia", "without blue cones"]];

export class Hand {
  constructor(desk) {
    this.desk = desk;
    this.drawn = new Drawn(at("hand-canvas"));
    this.cells = null;
    this.key = "";  // of the plate that lies there
    this.bead = NONE;
    this.unsaved = 0;
    this.isOpen = false;
    this.strokes = new Strokes(this.drawn, {
      bead: () => this.bead, way: () => this.way, pick: (bead) => this.choose(bead),
      strew: (cell, box) => this.strew.take(cell, box),
      lay: (stroke) => this.lay(stroke), say: (words) => { at("hand-at").textContent = words; },
    });
    this.strew = new Strew(this);
    this.reach = new Reach(this.drawn, this.strokes);
    this.strokes.onSymbol = (symbol) => {
      const place = this.cells.beads.findIndex((bead) => bead.symbol === symbol);
      if (place >= 0) this.choose(place);
    };
    this.#ways();
    this.#views();
    at("hand-given").addEventListener("input", () => this.#given());
    for (const [id, act] of [["hand-nearer", () => this.drawn.nearer(1.5)], ["hand-farther", () => this.drawn.nearer(1 / 1.5)], ["hand-whole", () => this.drawn.whole()]]) at(id).addEventListener("click", act);
    for (const [id, how] of PIECE) at(id).addEventListener("click", () => this.strokes.piece(how));
    new ResizeObserver(() => this.drawn.soon()).observe(at("hand-canvas"));
  }

  open() {
    this.isOpen = true;
    this.show(this.desk.state());
  }

  close() {
    this.strew.drop();
    this.isOpen = false;
  }

  // Take the plate in hand when it is made, unless strokes are still on their way to it.
  async show(state) {
    const { hand } = state;
    at("hand-clean").hidden = !state.settings.touched;
    at("hand-lost").textContent = hand.facts?.lost ?? "";
    if (!this.isOpen || !hand.facts || this.unsaved || this.strew.area || hand.key === this.key || this.loading === hand.key) return;
    this.loading = hand.key;
    try {
      const facts = await ask(`${this.desk.address}/cells`);
      if (!facts || this.unsaved || this.loading !== hand.key) return;
      this.key = facts.key;
      this.cells = new Cells(facts);
      this.drawn.show(this.cells, this.view);
      if (this.drawn.picture?.share) this.#given();
      this.#ready();
    } catch (error) {
      at("hand-at").textContent = error.message;
    } finally {
      this.loading = "";
    }
  }

  // With other beads, the one used most is in hand.
  #ready() {
    const code = this.cells.beads[this.bead]?.code;
    if (code === undefined || code !== this.code) {
      const [most] = [...this.cells.counts()].sort(([, one], [, other]) => other - one);
      this.bead = this.cells.places.get(this.code) ?? most?.[0] ?? 0;
    }
    this.code = this.cells.beads[this.bead].code;
    this.#count();
  }

  // Lay a stroke at once, and have it saved.
  lay(stroke) {
    const real = this.cells.real(stroke);
    if (!real.size) return;
    this.cells.lay(real);
    this.drawn.touch(real);
    this.#count();
    this.unsaved += 1;
    this.desk.change("touch", { cells: this.cells.told(real) }).finally(() => {
      this.unsaved -= 1;
      if (!this.unsaved) { this.key = ""; this.show(this.desk.state()); }
    });
  }

  // Lay the picture over the plate, where it shows what the plate shows.
  async #given() {
    const share = Number(at("hand-given").value) / 100;
    const placed = this.desk.state().hand.facts?.laid?.placed;
    if (!placed) return;
    if (!this.image) {
      this.image = new Image();
      this.image.src = `${this.desk.address}/picture.png`;
      const [{ size: [width] }] = await Promise.all([ask(`${this.desk.address}/picture`), this.image.decode()]);
      this.shrunk = this.image.naturalWidth / width;
    }
    const [left, top, right, bottom] = placed;
    this.drawn.picture = { image: this.image, box: [left, top, right - left, bottom - top].map((side) => side * this.shrunk), share };
    this.drawn.soon();
  }

  choose(bead) {
    if (bead === NONE) return;
    this.bead = bead;
    this.code = this.cells.beads[bead].code;
    this.#count();
  }

  // Beads, specks and colours as they lie, and the colours to take.
  #count() {
    const counts = this.cells.counts();
    const beads = [...counts.values()].reduce((sum, each) => sum + each, 0);
    at("hand-numbers").replaceChildren(...[[beads, "beads"], [counts.size, "colours"], [this.cells.specks(), "beads without a neighbour of their colour"]]
      .map(([value, words]) => make("li", {}, make("b", {}, value.toLocaleString("en")), words)));
    if (this.buttons?.beads !== this.cells.beads) this.#colours(counts);
    for (const [place, button] of this.buttons.list) {
      button.setAttribute("aria-pressed", place === this.bead);
      button.lastChild.textContent = (counts.get(place) ?? 0).toLocaleString("en");
    }
  }

  // All beads of the palette, those that lie on the plate first.
  #colours(counts) {
    const list = new Map(this.cells.beads.map((bead, place) => [place, this.#colour(bead, place)]));
    this.buttons = { beads: this.cells.beads, list };
    const places = [...list.keys()].sort((one, other) => counts.has(other) - counts.has(one) || one - other);
    at("hand-colours").replaceChildren(...places.map((place) => make("li", {}, list.get(place))));
  }

  // A colour, with those that go with it in small.
  #colour({ code, name, hex, symbol, companions }, place) {
    const dots = [hex, ...companions.map((each) => this.cells.beads[each].hex)].map((colour, number) => swatch(colour, number ? "dot" : "bead"));
    const others = companions.map((each) => this.cells.beads[each].code).join(" and ");
    const button = make("button", { type: "button", className: "of-hand", title: others ? `goes with ${others}` : "" }, ...dots, make("span", {}, `${code} ${name}`), make("kbd", { title: "type this on the plate to take the colour" }, symbol), make("span", { className: "count" }));
    button.addEventListener("click", () => this.choose(place));
    return button;
  }

  #ways() {
    at("hand-ways").append(...WAYS.map(([name, words]) => {
      const radio = make("input", { type: "radio", name: "hand-way", checked: name === "put" });
      radio.addEventListener("change", () => this.#take(name));
      return make("label", {}, radio, make("span", {}, words));
    }));
    this.#take("put");
  }

  #take(name) {
    this.way = name;
    if (name !== "strew") this.strokes.drop();
    this.strew.drop();
    at("hand-strew").hidden = name !== "strew";
    at("hand-hint").textContent = WAYS.find(([each]) => each === name)[2];
    at("hand-piece").hidden = name !== "piece";
  }

  #views() {
    const select = at("hand-view");
    select.append(...VIEWS.map(([value, words]) => make("option", { value }, words)));
    select.addEventListener("change", () => {
      this.view = select.value;
      if (this.cells) this.drawn.show(this.cells, this.view);
    });
    at("hand-clean").addEventListener("click", () => {
      const { touched: _, ...settings } = this.desk.state().settings;
      this.desk.change("settings", { settings });
    });
  }
}

const WAYS = [
  ["put", "put beads", "Drag over the cells, or go there with the arrow keys and press Enter."],
  ["take", "take beads away", "Drag over the beads that are to go."],
  ["line", "a straight line", "Press where it starts and let go where it ends; with keys, Enter twice."],
  ["area", "fill an area", "All beads of one colour that touch each other get the colour in hand."],
  ["swap", "swap a colour everywhere", "All beads of the colour that you touch get the colour in hand."],
  ["strew", "strew companions", "Touch an area: lighter and darker beads of its hue are strewn over it, so that it looks alive."],
  ["pick", "take its colour", "The colour that you touch is in hand then."],
  ["piece", "move a piece", "Drag a frame round it; then drag the piece, or press a button below."],
];
const PIECE = [["piece-copy", "copy"], ["piece-across", "across"], ["piece-down", "down"], ["piece-away", "away"], ["piece-drop", "drop"]];
