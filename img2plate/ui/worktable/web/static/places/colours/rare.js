// Rare colours: which would go, what their beads would become, and where on the plate they are.
import { ask, at, make, many, swatch } from "/static/ask.js";
import { Cells, NONE } from "/static/places/hand/cells.js";

const SOON = 60;  // milliseconds that a slider rests
const SIDE = 720;  // pixels of the drawn plate's long side, about

export class Rare {
  // change: has something done about it.
  constructor(desk, change) {
    this.desk = desk;
    this.cells = null;
    at("rare-fewer").addEventListener("input", () => {
      this.#say();
      clearTimeout(this.soon);
      this.soon = setTimeout(() => this.#preview(), SOON);
    });
    at("rare-do").addEventListener("click", () => change("merge", { fewer: this.#fewer() }));
    this.#say();
  }

  // Another plate is in hand.
  async show() {
    at("rare-do").disabled = true;
    this.cells = null;
    await this.#preview();
  }

  #fewer() {
    return Number(at("rare-fewer").value);
  }

  #say() {
    at("rare-number").textContent = this.#fewer();
  }

  async #preview() {
    const fewer = this.#fewer();
    const found = await ask(`${this.desk.address}/rare?fewer=${fewer}${this.cells ? "" : "&cells"}`).catch(() => null);
    if (found?.cells) this.cells = new Cells(found.cells);
    if (!found || !this.cells || fewer !== this.#fewer()) return;
    const { changed, colours } = found;
    const beads = changed.reduce((sum, each) => sum + each.beads, 0);
    at("rare-do").disabled = !changed.length;
    at("rare-said").textContent = changed.length ? `${many(changed.length, "colour")} would go, ${colours} stay; ${many(beads, "bead")} would change.`
      : `No colour has so few beads; all ${colours} stay.`;
    at("rare-list").replaceChildren(...changed.map((each) => this.#line(each)));
    at("rare-words").textContent = changed.length ? "Framed beads would change: each is shown in its new colour, with its old one in the middle." : "";
    this.#draw(new Map(changed.map(({ from, to }) => [this.cells.places.get(from), this.cells.places.get(to)])));
  }

  #line({ from, to, beads }) {
    const [old, next] = [from, to].map((code) => this.cells.beads[this.cells.places.get(code)]);
    return make("li", {}, swatch(old.hex), make("span", {}, `${many(beads, "bead")} of ${old.name} become${beads === 1 ? "s" : ""} ${next.name}`), swatch(next.hex));
  }

  // The plate with what would change framed.
  #draw(changed) {
    const { width, height, at: cells, beads } = this.cells;
    const side = Math.max(3, Math.floor(SIDE / Math.max(width, height)));
    const canvas = at("rare-canvas"), pen = canvas.getContext("2d");
    [canvas.width, canvas.height] = [width * side, height * side];
    const accent = getComputedStyle(canvas).getPropertyValue("--accent");
    const framed = [];
    cells.forEach((each, cell) => {
      if (each === NONE) return;
      pen.fillStyle = beads[changed.get(each) ?? each].hex;
      pen.fillRect((cell % width) * side, Math.floor(cell / width) * side, side, side);
      if (changed.has(each)) framed.push([each, (cell % width) * side, Math.floor(cell / width) * side]);
    });
    const line = Math.max(1, Math.round(side / 8)), dot = Math.max(1, Math.round(side / 3));
    for (const [each, x, y] of framed) {
      pen.fillStyle = beads[each].hex;
      pen.fillRect(x + (side - dot) / 2, y + (side - dot) / 2, dot, dot);
      pen.strokeStyle = accent;
      pen.lineWidth = line;
      pen.strokeRect(x + line / 2, y + line / 2, side - line, side - line);
    }
  }
}
