// How each way of working makes strokes of presses, drags and lifts.
import { NONE } from "/static/places/hand/cells.js";

export class Strokes {
  // here: { bead(), way(), pick(bead), strew: the place's Strew, words: its Words, lay(stroke), say(words) }.
  constructor(drawn, here) {
    Object.assign(this, { drawn, here, from: null, last: null, stroke: null, box: null, moving: false });
  }

  needsTwo() {
    return ["line", "piece"].includes(this.here.way());
  }

  symbol(text) {
    this.onSymbol(text);
  }

  look([x, y]) {
    const { cells } = this.drawn;
    const bead = cells.has(x, y) ? cells.at[cells.number(x, y)] : NONE;
    const words = bead === NONE ? "no bead" : `${cells.beads[bead].code} ${cells.beads[bead].name}`;
    this.here.say(`column ${x + 1}, row ${y + 1}: ${words}`);
  }

  press(cell) {
    if (!this.drawn.cells) return;
    this.from = this.last = cell;
    this.stroke = new Map();
    this.look(cell);
    const way = this.here.way();
    if (way === "put" || way === "take") this.#along(cell);
    if (this.brushes()) this.#brush(cell, true);
    if (way === "words") this.here.words.press(cell);
    if (way === "piece") this.moving = this.box !== null && inside(this.box, cell);
  }

  drag(cell) {
    if (!this.from) return;
    const way = this.here.way();
    if (way === "put" || way === "take") this.#along(cell);
    if (this.brushes()) this.#brush(cell, false);
    if (way === "words") this.here.words.drag(cell);
    if (way === "line") this.#preview(this.drawn.cells.line(this.from, cell));
    if (way === "piece") this.drawn.marks.box = this.moving ? shifted(this.box, this.from, cell) : this.#around(cell);
    this.last = cell;
    this.look(cell);
    this.drawn.soon();
  }

  lift(cell) {
    if (!this.from) return;
    const { cells } = this.drawn, way = this.here.way(), isOn = cells.has(...cell);
    const touched = isOn ? cells.at[cells.number(...cell)] : NONE;
    const from = this.from;
    this.#unpreview();
    this.from = null;
    if (way === "put" || way === "take") this.#finish(this.stroke);
    else if (way === "line") this.#finish(this.#coloured(cells.line(from, cell)));
    else if (way === "piece") this.#boxed(from, cell);
    else if (isOn && way === "area") this.#finish(this.#coloured(cells.area(...cell)));
    else if (isOn && way === "swap" && touched !== NONE) this.#finish(this.#coloured(cells.alike(touched)));
    else if (this.brushes()) this.here.strew.takeBrushed();
    else if (isOn && way === "strew") this.here.strew.take(cell, this.box);
    else if (isOn && way === "pick") this.here.pick(touched);
  }

  // Leave what was begun.
  drop() {
    if (this.from) this.#unpreview();
    this.from = null;
    this.box = this.drawn.marks.box = null;
    this.drawn.soon();
  }

  // Do something with the framed piece.
  piece(how) {
    if (how === "drop" || !this.box) { this.drop(); return; }
    const { cells } = this.drawn;
    const [, , width, height] = this.box;
    if (how === "away") this.#finish(cells.moved(this.box, [cells.width + width, cells.height + height]));
    if (how === "across" || how === "down") this.#finish(cells.moved(this.box, [0, 0], { mirror: how }));
    if (how === "copy") {
      const by = [Math.min(2, cells.width - 1), Math.min(2, cells.height - 1)];
      this.#finish(cells.moved(this.box, by, { copy: true }));
      this.#frame([this.box[0] + by[0], this.box[1] + by[1], width, height]);
    }
  }

  #boxed(from, cell) {
    if (!this.moving) { this.#frame(this.#around(cell, from)); return; }
    const by = [cell[0] - from[0], cell[1] - from[1]];
    if (by[0] || by[1]) this.#finish(this.drawn.cells.moved(this.box, by));
    this.#frame(shifted(this.box, from, cell));
  }

  // A frame, as much of it as lies on the plate.
  #frame([x, y, width, height]) {
    const { cells } = this.drawn;
    const left = Math.max(0, x), top = Math.max(0, y);
    const right = Math.min(cells.width, x + width), bottom = Math.min(cells.height, y + height);
    this.box = this.drawn.marks.box = right > left && bottom > top ? [left, top, right - left, bottom - top] : null;
    this.drawn.soon();
  }

  #around([x, y], [fromX, fromY] = this.from) {
    return [Math.min(x, fromX), Math.min(y, fromY), Math.abs(x - fromX) + 1, Math.abs(y - fromY) + 1];
  }

  // Whether cells are picked by hand.
  brushes() {
    return this.here.way() === "strew" && this.here.strew.brushes();
  }

  #brush(cell, isFirst) {
    this.here.strew.brush(this.drawn.cells.line(this.last, cell), isFirst);
  }

  #along(cell) {
    const bead = this.here.way() === "take" ? NONE : this.here.bead();
    const { cells } = this.drawn;
    const part = new Map(cells.line(this.last, cell).filter((each) => !this.stroke.has(each)).map((each) => [each, bead]));
    for (const [each, was] of cells.lay(part)) this.stroke.set(each, { was, bead });
    this.drawn.touch(part);
    this.last = cell;
  }

  // Draw what a stroke would be, without laying it.
  #preview(numbers) {
    this.#unpreview();
    this.shown = this.drawn.cells.lay(this.#coloured(numbers));
    this.drawn.touch(this.shown);
  }

  // Take back what was drawn ahead of time.
  #unpreview() {
    const { cells } = this.drawn;
    if (this.shown) { cells.lay(this.shown); this.drawn.touch(this.shown); }
    this.shown = null;
    if (this.stroke?.size) {
      const back = new Map([...this.stroke].map(([cell, { was }]) => [cell, was]));
      cells.lay(back);
      this.drawn.touch(back);
      this.stroke = new Map([...this.stroke].map(([cell, { bead }]) => [cell, bead]));
    }
  }

  #coloured(numbers) {
    const bead = this.here.bead();
    return new Map(numbers.map((cell) => [cell, bead]));
  }

  #finish(stroke) {
    if (stroke?.size) this.here.lay(stroke);
    this.stroke = null;
  }
}

function inside([x, y, width, height], [column, row]) {
  return column >= x && row >= y && column < x + width && row < y + height;
}

function shifted([x, y, width, height], from, to) {
  return [x + to[0] - from[0], y + to[1] - from[1], width, height];
}
