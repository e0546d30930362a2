// Words in beads over the plate: seen at once as one writes, moved to their place, then laid as one stroke.
import { ask, at } from "/static/ask.js";

const SOON = 120;  // milliseconds that writing rests
const HINT = "Write the words; drag them to their place, or press there. With keys: the arrows and Enter on the plate, or the numbers.";

export class Words {
  // hand: the place; it has `desk`, `cells`, `drawn`, `colours` and `lay(stroke)`.
  constructor(hand) {
    this.hand = hand;
    this.letters = null;  // { size: [width, height], cells: numbers within it }
    this.at = null;  // column and row of their upper left corner
    this.back = null;  // the stroke that takes the preview away
    this.turn = 0;
    at("words-text").addEventListener("input", () => this.#soon());
    at("words-height").addEventListener("change", () => this.set());
    for (const id of ["words-column", "words-row"]) at(id).addEventListener("input", () => this.#typed());
    at("words-keep").addEventListener("click", () => this.keep());
    at("words-drop").addEventListener("click", () => { at("words-text").value = ""; this.drop(); at("words-text").focus(); });
    this.#ready();
  }

  // The way of working begins.
  open() {
    if (at("words-text").value.trim()) this.set();
    else at("words-text").focus();
  }

  #soon() {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.set(), SOON);
  }

  // Have the words set; only the newest answer counts.
  async set() {
    const turn = this.turn += 1, text = at("words-text").value;
    if (!text.trim()) { this.drop(); return; }
    try {
      const found = await ask(`${this.hand.desk.address}/letters`, { method: "POST", words: { text, height: Number(at("words-height").value) } });
      if (turn !== this.turn) return;
      if (found.wrong) throw new Error(found.wrong);
      this.letters = { size: found.size, cells: found.cells.flatMap((start, i, list) => i % 2 ? [] : Array.from({ length: list[i + 1] }, (_, more) => start + more)) };
      this.at ??= found.at;
      at("words-said").textContent = `${found.size[0]} x ${found.size[1]} beads. ${HINT}`;
      this.look();
    } catch (error) {
      if (turn !== this.turn) return;
      this.#unshow();
      this.letters = null;
      at("words-said").textContent = error.message;
      this.#ready();
    }
  }

  // Show them in the colour in hand.
  look() {
    if (!this.letters) return;
    this.#unshow();
    const { cells, drawn, colours } = this.hand;
    this.at = inside(this.at, this.letters.size, cells);
    const [width] = this.letters.size, [column, row] = this.at;
    this.stroke = new Map(this.letters.cells.map((cell) => [cells.number(column + cell % width, row + Math.floor(cell / width)), colours.bead]));
    this.back = cells.lay(this.stroke);
    drawn.touch(this.stroke);
    this.#frame([...this.at, ...this.letters.size]);
    [at("words-column").value, at("words-row").value] = [column + 1, row + 1];
    this.#ready();
  }

  // A hand is laid on the plate: on the words it drags them, beside them they come there.
  press([x, y]) {
    if (!this.letters) return;
    const [column, row] = this.at, [width, height] = this.letters.size;
    const isOn = x >= column && y >= row && x < column + width && y < row + height;
    this.held = isOn ? [x - column, y - row] : [Math.floor(width / 2), Math.floor(height / 2)];
    this.drag([x, y]);
  }

  drag([x, y]) {
    if (!this.letters || !this.held) return;
    this.at = [x - this.held[0], y - this.held[1]];
    this.look();
  }

  #typed() {
    const [column, row] = ["words-column", "words-row"].map((id) => Number(at(id).value));
    if (!this.letters || !column || !row) return;
    this.at = [column - 1, row - 1];
    this.look();
  }

  keep() {
    if (!this.back) return;
    const { stroke } = this;
    this.#unshow();
    this.letters = this.at = null;
    at("words-text").value = "";
    at("words-said").textContent = "They lie there. Undo takes them back.";
    this.#ready();
    this.hand.lay(stroke);
  }

  drop() {
    this.turn += 1;
    this.#unshow();
    this.letters = this.at = this.held = null;
    at("words-said").textContent = HINT;
    this.#ready();
  }

  // Whether a preview lies on the plate.
  get lies() {
    return this.back !== null;
  }

  #unshow() {
    if (this.back) { this.hand.cells.lay(this.back); this.hand.drawn.touch(this.back); }
    this.back = this.stroke = null;
    this.#frame(null);
  }

  // They may be of the colour that they lie on.
  #frame(box) {
    this.hand.drawn.marks.box = box;
    if (this.hand.cells) this.hand.drawn.soon();
  }

  #ready() {
    for (const id of ["words-keep", "words-column", "words-row"]) at(id).disabled = !this.back;
  }
}

// A place on the plate that is as near as can be.
function inside(place, size, { width, height }) {
  return [width, height].map((side, i) => Math.max(0, Math.min(side - size[i], place[i])));
}
