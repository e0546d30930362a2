// Companion beads strewn over an area: seen at once as the slider moves, kept when one likes it.
import { ask, at } from "/static/ask.js";

export class Strew {
  // hand: the place; it has `desk`, `cells`, `drawn` and `lay(stroke)`.
  constructor(hand) {
    this.hand = hand;
    this.area = null;  // { beads, cells }
    this.brushed = null;  // cells that were picked by hand: a Set
    this.back = null;  // the stroke that takes the preview away
    this.turn = 0;
    for (const id of ["strew-share", "strew-side", "strew-light"]) at(id).addEventListener("input", () => this.look());
    at("strew-where").addEventListener("change", () => this.drop());
    at("strew-keep").addEventListener("click", () => this.keep());
    at("strew-drop").addEventListener("click", () => this.drop());
    this.#ready();
  }

  // Whether cells are picked by hand.
  brushes() {
    return at("strew-where").value === "brushed";
  }

  // Pick cells by hand, or put them back when the first of a stroke was picked already.
  brush(numbers, isFirst) {
    this.#unshow();
    this.brushed ??= new Set();
    if (isFirst) this.isBack = this.brushed.has(numbers[0]);
    for (const cell of numbers) this.isBack ? this.brushed.delete(cell) : this.brushed.add(cell);
    this.#mark();
  }

  // Take what was picked by hand, whatever its colours.
  takeBrushed() {
    const { at: beads } = this.hand.cells;
    const cells = [...this.brushed ?? []].filter((cell) => beads[cell] >= 0);
    this.area = { beads: [...new Set(cells.map((cell) => beads[cell]))], cells };
    if (cells.length) this.look();
    else this.drop();
  }

  // Take the area at a cell: as much of it as touches, all of its colour, or what of that is framed.
  take([x, y], box) {
    this.drop();
    const { cells } = this.hand;
    if (!cells.has(x, y)) return;
    const bead = cells.at[cells.number(x, y)];
    if (bead < 0) return;
    const which = at("strew-where").value;
    const all = which === "touching" ? cells.area(x, y) : cells.alike(bead);
    this.area = { beads: [bead], cells: which === "framed" && box ? all.filter((cell) => isIn(box, cell % cells.width, Math.floor(cell / cells.width))) : all };
    this.look();
  }

  // Show what it would be; only the newest answer counts.
  async look() {
    if (!this.area) return;
    const turn = this.turn += 1, { cells, desk } = this.hand;
    at("strew-share-words").textContent = `${at("strew-share").value} %`;
    const wishes = this.area.beads.map((bead) => `${cells.beads[bead].code}:${at("strew-side").value}:${at("strew-share").value}`);
    const light = at("strew-light").value;
    const words = { wishes, light: light === "" ? null : Number(light), cells: cells.told(new Map(this.area.cells.map((cell) => [cell, -1])))[""] };
    try {
      const found = await ask(`${desk.address}/strew`, { method: "POST", words });
      if (turn !== this.turn || !this.area) return;
      this.#unshow();
      this.stroke = cells.read(found.cells);
      this.back = cells.lay(this.stroke);
      this.hand.drawn.touch(this.stroke);
      at("strew-said").textContent = found.notes.join(" ");
    } catch (error) {
      at("strew-said").textContent = error.message;
    }
    this.#ready();
  }

  keep() {
    if (!this.back) return;
    const { stroke } = this;
    this.drop();
    this.hand.lay(stroke);
  }

  drop() {
    this.turn += 1;
    this.#unshow();
    this.area = this.brushed = null;
    this.#mark();
    at("strew-said").textContent = this.brushes() ? BRUSH : "Touch an area of one colour.";
    this.#ready();
  }

  #mark() {
    this.hand.drawn.marks.picked = this.brushed;
    if (this.hand.cells) this.hand.drawn.soon();
  }

  #unshow() {
    if (this.back) { this.hand.cells.lay(this.back); this.hand.drawn.touch(this.back); }
    this.back = this.stroke = null;
  }

  #ready() {
    at("strew-keep").disabled = at("strew-drop").disabled = !this.back;
  }
}

const BRUSH = "Brush over cells to pick them, over picked ones to leave them out. With keys: Enter picks a cell, Shift and an arrow picks on the way.";

function isIn([left, top, width, height], x, y) {
  return x >= left && y >= top && x < left + width && y < top + height;
}
