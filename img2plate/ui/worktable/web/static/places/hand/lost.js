// What was touched by hand and lies no more on the plate: marked where it was, told in words, until one says it is all right.
import { at, make } from "/static/ask.js";
import { Cells } from "/static/places/hand/cells.js";

const MOST_LINES = 40;

export class Lost {
  constructor(desk, drawn) {
    Object.assign(this, { drawn, key: `all right ${desk.project}`, words: "" });
    at("hand-lost-done").addEventListener("click", () => {
      localStorage.setItem(this.key, this.words);
      this.#draw();
      at("hand-canvas").focus();
    });
  }

  // What is said of it, empty when nothing was lost, and which cells: { size: [width, height] of the plate they
  // were on, cells: code to runs }.
  take(words, { size: [width, height], cells: runs }, cells) {
    this.words = words;
    at("hand-lost").textContent = words;
    const x = (cell) => cell % width, y = (cell) => Math.floor(cell / width);
    this.cells = Cells.numbers(Object.values(runs).flat()).map((cell) => [x(cell), y(cell)]);
    const isOn = ([column, row]) => cells.has(column, row);
    const edge = this.cells.filter((place) => !isOn(place)).map(([column, row]) => [Math.min(column, cells.width), Math.min(row, cells.height)]);
    this.marks = { inside: this.cells.filter(isOn), edge: [...new Map(edge.map((place) => [String(place), place])).values()] };
    const lines = Object.entries(runs).flatMap(([code, list]) => pairs(list).map(([first, many]) => {
      const until = many > 1 ? ` to column ${x(first + many - 1) + 1}, row ${y(first + many - 1) + 1}` : "";
      return `column ${x(first) + 1}, row ${y(first) + 1}${until}: ${code || "taken away"}`;
    }));
    if (lines.length > MOST_LINES) lines.splice(MOST_LINES, Infinity, `and ${lines.length - MOST_LINES} more`);
    at("hand-lost-list").replaceChildren(...lines.map((line) => make("li", {}, line)));
    this.#draw();
  }

  #draw() {
    const isSeen = this.words !== "" && localStorage.getItem(this.key) !== this.words;
    at("hand-lost-part").hidden = !isSeen;
    this.drawn.marks.lost = isSeen && this.marks ? this.marks : null;
    if (this.drawn.cells) this.drawn.soon();
  }
}

function pairs(list) {
  return Array.from({ length: list.length / 2 }, (_, i) => [list[2 * i], list[2 * i + 1]]);
}
