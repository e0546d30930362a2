// Companion beads strewn over an area: seen at once as the slider moves, kept when one likes it.
import { ask, at } from "/static/ask.js";

export class Strew {
  // hand: the place; it has `desk`, `cells`, `drawn` and `lay(stroke)`.
  constructor(hand) {
    this.hand = hand;
    this.area = null;  // { bead, cells }
    this.back = null;  // the stroke that takes the preview away
    this.turn = 0;
    for (const id of ["strew-share", "strew-side", "strew-light"]) at(id).addEventListener("input", () => this.look());
    at("strew-keep").addEventListener("click", () => this.keep());
    at("strew-drop").addEventListener("click", () => this.drop());
    this.#ready();
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
    this.area = { bead, cells: which === "framed" && box ? all.filter((cell) => isIn(box, cell % cells.width, Math.floor(cell / cells.width))) : all };
    this.look();
  }

  // Show what it would be; only the newest answer counts.
  async look() {
    if (!this.area) return;
    const turn = this.turn += 1, { cells, desk } = this.hand;
    at("strew-share-words").textContent = `${at("strew-share").value} %`;
    const wish = `${cells.beads[this.area.bead].code}:${at("strew-side").value}:${at("strew-share").value}`;
    const light = at("strew-light").value;
    const words = { wish, light: light === "" ? null : Number(light), cells: cells.told(new Map(this.area.cells.map((cell) => [cell, -1])))[""] };
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
    this.area = null;
    at("strew-said").textContent = "Touch an area of one colour.";
    this.#ready();
  }

  #unshow() {
    if (this.back) { this.hand.cells.lay(this.back); this.hand.drawn.touch(this.back); }
    this.back = this.stroke = null;
  }

  #ready() {
    at("strew-keep").disabled = at("strew-drop").disabled = !this.back;
  }
}

function isIn([left, top, width, height], x, y) {
  return x >= left && y >= top && x < left + width && y < top + height;
}
