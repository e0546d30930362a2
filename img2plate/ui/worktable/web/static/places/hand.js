// The plate under one's hands: beads put, taken, swapped and moved, each stroke saved as it is made.
import { ask, at, make } from "/static/ask.js";
import { Cells } from "/static/places/hand/cells.js";
import { Colours } from "/static/places/hand/colours.js";
import { Drawn } from "/static/places/hand/drawn.js";
import { Lost } from "/static/places/hand/lost.js";
import { Numbers } from "/static/places/hand/numbers.js";
import { Reach } from "/static/places/hand/reach.js";
import { Sight } from "/static/places/hand/sight.js";
import { Strew } from "/static/places/hand/strew.js";
import { Strokes } from "/static/places/hand/strokes.js";
import { Words } from "/static/places/hand/words.js";

export class Hand {
  constructor(desk) {
    this.desk = desk;
    this.drawn = new Drawn(at("hand-canvas"));
    this.cells = null;
    this.key = "";  // of the plate that lies there, and the stock beside it
    this.unsaved = 0;
    this.isOpen = false;
    this.colours = new Colours();
    this.numbers = new Numbers(this);
    this.sight = new Sight(desk, this.drawn);
    this.lost = new Lost(desk, this.drawn);
    this.strew = new Strew(this);
    this.words = new Words(this);
    this.colours.chosen = () => this.words.look();
    this.strokes = new Strokes(this.drawn, {
      bead: () => this.colours.bead, way: () => this.way, pick: (bead) => this.colours.choose(bead), strew: this.strew, words: this.words,
      lay: (stroke) => this.lay(stroke), say: (words) => { at("hand-at").textContent = words; },
    });
    this.strokes.onSymbol = (symbol) => this.colours.named(symbol);
    this.reach = new Reach(this.drawn, this.strokes);
    this.#ways();
    for (const [id, how] of PIECE) at(id).addEventListener("click", () => this.strokes.piece(how));
    at("hand-clean").addEventListener("click", () => {
      const { touched: _, ...settings } = this.desk.state().settings;
      this.desk.change("settings", { settings });
    });
    new ResizeObserver(() => this.drawn.soon()).observe(at("hand-canvas"));
  }

  open() {
    this.isOpen = true;
    this.show(this.desk.state());
  }

  close() {
    this.strew.drop();
    this.words.drop();
    this.isOpen = false;
  }

  // Take the plate in hand when it is made, unless strokes are still on their way to it.
  async show(state) {
    const { hand } = state, key = keyOf(state);
    at("hand-clean").hidden = !state.settings.touched;
    if (!this.isOpen || !hand.facts || this.unsaved || this.strew.area || this.words.lies || key === this.key || this.loading === key) return;
    this.loading = key;
    try {
      const facts = await ask(`${this.desk.address}/cells`);
      if (!facts || facts.key !== hand.key || this.unsaved || this.loading !== key) return;
      this.key = key;
      this.#take(facts, hand.facts.lost ?? "");
    } catch (error) {
      at("hand-at").textContent = error.message;
    } finally {
      if (this.loading === key) this.loading = "";  // not while a newer plate is on its way
    }
  }

  #take(facts, lost) {
    this.cells = new Cells(facts);
    this.cells.heard = () => this.numbers.soon();
    this.drawn.show(this.cells, this.sight.view);
    if (this.drawn.picture?.share) this.sight.given();
    this.lost.take(lost, facts.lost, this.cells);
    this.colours.take(this.cells);
    this.numbers.take();
  }

  // Lay a stroke at once, and have it saved.
  lay(stroke) {
    const real = this.cells.real(stroke);
    if (!real.size) return;
    this.cells.lay(real);
    this.drawn.touch(real);
    this.unsaved += 1;
    this.desk.change("touch", { cells: this.cells.told(real) }).finally(() => {
      this.unsaved -= 1;
      if (!this.unsaved) { this.key = ""; this.show(this.desk.state()); }
    });
  }

  #ways() {
    at("hand-ways").append(...WAYS.map(([name, words]) => {
      const radio = make("input", { type: "radio", name: "hand-way", checked: name === "put" });
      radio.addEventListener("change", () => this.#way(name));
      return make("label", {}, radio, make("span", {}, words));
    }));
    this.#way("put");
  }

  #way(name) {
    this.way = name;
    if (name !== "strew") this.strokes.drop();
    this.strew.drop();
    this.words.drop();
    at("hand-strew").hidden = name !== "strew";
    at("hand-words").hidden = name !== "words";
    if (name === "words") this.words.open();
    at("hand-hint").textContent = WAYS.find(([each]) => each === name)[2];
    at("hand-piece").hidden = name !== "piece";
  }
}

// What changes when another plate lies there, or other beads are owned.
function keyOf({ hand, settings }) {
  return JSON.stringify([hand.key, settings.owned, settings.stock, settings.spare_percent]);
}

const WAYS = [
  ["put", "put beads", "Drag over the cells, or go there with the arrow keys and press Enter."],
  ["take", "take beads away", "Drag over the beads that are to go."],
  ["line", "a straight line", "Press where it starts and let go where it ends; with keys, Enter twice."],
  ["area", "fill an area", "All beads of one colour that touch each other get the colour in hand."],
  ["swap", "swap a colour everywhere", "All beads of the colour that you touch get the colour in hand."],
  ["strew", "strew companions", "Touch an area: lighter and darker beads of its hue are strewn over it, so that it looks alive."],
  ["words", "write words", "Letters of beads in the colour in hand."],
  ["pick", "take its colour", "The colour that you touch is in hand then."],
  ["piece", "move a piece", "Drag a frame round it; then drag the piece, or press a button below."],
];
const PIECE = [["piece-copy", "copy"], ["piece-across", "across"], ["piece-down", "down"], ["piece-away", "away"], ["piece-drop", "drop"]];
