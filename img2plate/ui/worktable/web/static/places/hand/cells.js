// The beads of a plate as the page keeps them, and what hands do to them. Nothing here draws or asks.
//
// A stroke is a Map from a cell's number (row by row) to the bead that is to lie there; -1 is none.

export const NONE = -1;

export class Cells {
  // facts: { size: [width, height], beads: [{ code, name, hex, sign }], cells: base64 of int16, little end first,
  // owned: beads by code or null, spare_percent }.
  constructor({ size, beads, cells, owned, spare_percent }) {
    Object.assign(this, { owned, spare: spare_percent, heard: () => {} });
    [this.width, this.height] = size;
    this.beads = beads;
    const bytes = Uint8Array.from(atob(cells), (letter) => letter.charCodeAt(0));
    this.at = new Int16Array(bytes.buffer);
    this.places = new Map(beads.map(({ code }, place) => [code, place]));
  }

  has(x, y) {
    return x >= 0 && y >= 0 && x < this.width && y < this.height;
  }

  number(x, y) {
    return y * this.width + x;
  }

  // Lay a stroke; returns the one that takes it back.
  lay(stroke) {
    const back = new Map();
    for (const [cell, bead] of stroke) {
      back.set(cell, this.at[cell]);
      this.at[cell] = bead;
    }
    this.heard();
    return back;
  }

  // Only what a stroke would change.
  real(stroke) {
    return new Map([...stroke].filter(([cell, bead]) => this.at[cell] !== bead));
  }

  // As the server reads it: for each code the starts and lengths of runs of cells.
  told(stroke) {
    const runs = {};
    let last = null;
    for (const [cell, bead] of [...stroke].sort(([one], [other]) => one - other)) {
      const code = bead === NONE ? "" : this.beads[bead].code;
      if (last && last.code === code && last.end === cell) { last.list[last.list.length - 1] += 1; last.end += 1; continue; }
      const list = (runs[code] ??= []);
      list.push(cell, 1);
      last = { code, list, end: cell + 1 };
    }
    return runs;
  }

  // A stroke from what the server tells.
  read(runs) {
    const stroke = new Map();
    for (const [code, list] of Object.entries(runs)) {
      for (const cell of Cells.numbers(list)) stroke.set(cell, code ? this.places.get(code) : NONE);
    }
    return stroke;
  }

  // Cells of runs: starts and lengths by turns.
  static numbers(list) {
    const found = [];
    for (let i = 0; i < list.length; i += 2) for (let j = 0; j < list[i + 1]; j += 1) found.push(list[i] + j);
    return found;
  }

  counts() {
    const many = new Uint32Array(this.beads.length);
    for (const bead of this.at) if (bead !== NONE) many[bead] += 1;
    return new Map([...many.entries()].filter(([, each]) => each));
  }

  // Colours of which more beads are wanted than are owned, spare ones too: [code, beads], most first; null
  // without a stock. As the pipeline counts them.
  short(counts) {
    if (!this.owned) return null;
    const missing = [...counts].map(([bead, many]) => {
      const { code } = this.beads[bead];
      return [code, many + Math.ceil(Math.round(many * this.spare * 1e4) / 1e6) - (this.owned[code] ?? 0)];
    });
    return missing.filter(([, many]) => many > 0).sort(([, one], [, other]) => other - one);
  }

  // Beads without a neighbour of their own colour.
  specks() {
    const { at, width, height } = this;
    let found = 0;
    for (let y = 0, cell = 0; y < height; y += 1) {
      for (let x = 0; x < width; x += 1, cell += 1) {
        const bead = at[cell];
        if (bead !== NONE && !(x > 0 && at[cell - 1] === bead) && !(x < width - 1 && at[cell + 1] === bead)
          && !(y > 0 && at[cell - width] === bead) && !(y < height - 1 && at[cell + width] === bead)) found += 1;
      }
    }
    return found;
  }

  // Cells on a straight line between two, ends included (Bresenham 1965).
  line([x, y], [toX, toY]) {
    const found = [];
    const acrossBy = Math.abs(toX - x), downBy = -Math.abs(toY - y);
    const stepX = x < toX ? 1 : -1, stepY = y < toY ? 1 : -1;
    for (let error = acrossBy + downBy; ;) {
      if (this.has(x, y)) found.push(this.number(x, y));
      if (x === toX && y === toY) return found;
      const twice = 2 * error;
      if (twice >= downBy) { error += downBy; x += stepX; }
      if (twice <= acrossBy) { error += acrossBy; y += stepY; }
    }
  }

  // Cells of one colour that touch each other at their sides.
  area(x, y) {
    const wanted = this.at[this.number(x, y)];
    const found = [], seen = new Uint8Array(this.at.length), open = [this.number(x, y)];
    seen[open[0]] = 1;
    while (open.length) {
      const cell = open.pop(), column = cell % this.width;
      found.push(cell);
      for (const next of [column > 0 ? cell - 1 : -1, column < this.width - 1 ? cell + 1 : -1, cell - this.width, cell + this.width]) {
        if (next >= 0 && next < this.at.length && !seen[next] && this.at[next] === wanted) { seen[next] = 1; open.push(next); }
      }
    }
    return found;
  }

  // All cells of one colour.
  alike(bead) {
    const found = [];
    this.at.forEach((each, cell) => { if (each === bead) found.push(cell); });
    return found;
  }

  // A stroke that lays a piece of the plate elsewhere: box [x, y, width, height], how far, and how.
  moved([x, y, width, height], [byX, byY], { copy = false, mirror = "" } = {}) {
    const stroke = new Map();
    if (!copy) this.#each(width, height, (i, j) => stroke.set(this.number(x + i, y + j), NONE));
    this.#each(width, height, (i, j) => {
      const bead = this.at[this.number(x + i, y + j)];
      const toX = x + byX + (mirror === "across" ? width - 1 - i : i);
      const toY = y + byY + (mirror === "down" ? height - 1 - j : j);
      if (this.has(toX, toY) && (bead !== NONE || !copy)) stroke.set(this.number(toX, toY), bead);
    });
    return stroke;
  }

  #each(width, height, visit) {
    for (let j = 0; j < height; j += 1) for (let i = 0; i < width; i += 1) visit(i, j);
  }
}
