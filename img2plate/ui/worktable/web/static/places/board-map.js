// The plate with its seams over it; a seam can be dragged, or moved with the arrow keys.
import { make } from "/static/ask.js";

const KEYS = {
  ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1, PageUp: -5, PageDown: 5, Home: -Infinity, End: Infinity,
};
const REST = 700;  // milliseconds without a key, after which a seam stays where it is
const AXES = [
  { peg: "column", pegs: "wide", size: "width", start: "left", client: "clientX" },
  { peg: "row", pegs: "high", size: "height", start: "top", client: "clientY" },
];

// Boards of several sizes may lie otherwise than in columns and rows: then no seam runs over all of
// the plate, and none is dragged.
const seamsOf = (laid) => (laid.is_grid ? laid.seams : [[], []]).map((pegs) => [...pegs]);

export class BoardMap {
  // element: where it is drawn; moved: told pegs of all seams when one was moved; say: told words;
  // free: told when no hand is at a seam any more.
  constructor(element, { moved, say, free }) {
    Object.assign(this, { element, moved, say, free, laid: null, timer: 0, isHeld: false });
    this.picture = make("img", { alt: "" });
    this.over = make("div", { className: "over" });
    element.append(this.picture, this.over);
  }

  draw(src, laid) {
    const held = this.over.contains(document.activeElement) ? document.activeElement.id : "";
    this.laid = laid;
    this.seams = seamsOf(laid);
    const [wide, high] = laid.size;
    if (this.picture.getAttribute("src") !== src) this.picture.src = src;
    this.picture.alt = `The plate, ${wide} by ${high} beads, over ${laid.tiles.length} boards`;
    this.element.style.setProperty("--shape", wide / high);
    this.element.classList.toggle("joined", !laid.is_grid);
    this.tiles = laid.tiles.map((tile) => this.#tile(tile));
    this.bars = this.seams.map((pegs, axis) => pegs.map((_, place) => this.#bar(axis, place)));
    this.over.replaceChildren(...this.tiles, ...this.bars.flat());
    this.#place();
    if (held) document.getElementById(held)?.focus();
  }

  // Show the boards of one round; 0 for all.
  pick(round) {
    this.tiles.forEach((tile, number) => tile.classList.toggle("other", Boolean(round) && this.laid.tiles[number].round !== round));
  }

  #tile({ name, beads, round, board }) {
    const words = make("span", { className: "tile-name" }, make("b", {}, name), make("small", {}));
    const on = board ? `on ${board[0]} x ${board[1]}` : "";
    words.lastChild.textContent = !beads ? "no beads" : round ? `round ${round}` : on;
    return make("div", { className: "tile" }, words);
  }

  #bar(axis, place) {
    const bar = make("div", { className: `seam ${axis ? "across" : "down"}`, id: `seam-${axis}-${place}`, tabIndex: 0 });
    bar.setAttribute("role", "slider");
    bar.setAttribute("aria-orientation", axis ? "vertical" : "horizontal");
    bar.addEventListener("keydown", (event) => this.#key(event, axis, place));
    bar.addEventListener("blur", () => this.#settle());
    bar.addEventListener("focus", () => this.#tell(axis, place));
    bar.addEventListener("pointerdown", (event) => this.#hold(event, bar, axis, place));
    return bar;
  }

  // How far a seam may go: a board on either side holds what lies on it.
  #limits(axis, place) {
    const [pegs, most, length] = [this.seams[axis], this.laid.board[axis], this.laid.size[axis]];
    const [before, after] = [pegs[place - 1] ?? 0, pegs[place + 1] ?? length];
    return [Math.max(before + 1, after - most), Math.min(after - 1, before + most)];
  }

  #move(axis, place, peg) {
    const [least, most] = this.#limits(axis, place);
    this.seams[axis][place] = Math.max(least, Math.min(most, Math.round(peg)));
    this.#place();
    this.#tell(axis, place);
  }

  // What lies on both sides of a seam, and what it costs there.
  #words(axis, place) {
    const [pegs, length] = [this.seams[axis], this.laid.size[axis]];
    const [before, here, after] = [pegs[place - 1] ?? 0, pegs[place], pegs[place + 1] ?? length];
    const [least, most] = this.#limits(axis, place);
    const met = this.laid.detail[axis][here];
    const room = least === most ? " It has no room to move: the boards beside it are full." : "";
    return `After ${AXES[axis].peg} ${here}: boards ${here - before} and ${after - here} pegs ${AXES[axis].pegs};`
      + ` ${met} ${met === 1 ? "change" : "changes"} of colour meet it.${room}`;
  }

  #tell(axis, place) {
    this.say(this.#words(axis, place));
  }

  #key(event, axis, place) {
    if (event.key === "Escape") { this.#back(); this.#tell(axis, place); return; }
    const step = KEYS[event.key];
    if (step === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.#move(axis, place, this.seams[axis][place] + step);
    clearTimeout(this.timer);
    this.isHeld = true;
    this.timer = setTimeout(() => this.#settle(), REST);
  }

  #hold(event, bar, axis, place) {
    if (event.button) return;
    event.preventDefault();
    bar.focus();
    this.isHeld = true;
    bar.setPointerCapture(event.pointerId);
    const box = this.over.getBoundingClientRect();
    const { client, start, size } = AXES[axis];
    const move = (moved) => this.#move(axis, place, ((moved[client] - box[start]) / box[size]) * this.laid.size[axis]);
    const end = (ended) => {
      bar.removeEventListener("pointermove", move);
      bar.removeEventListener("pointerup", end);
      bar.removeEventListener("pointercancel", end);
      if (ended.type === "pointercancel") this.#back();
      else this.#settle();
    };
    bar.addEventListener("pointermove", move);
    bar.addEventListener("pointerup", end);
    bar.addEventListener("pointercancel", end);
  }

  #back() {
    clearTimeout(this.timer);
    this.isHeld = false;
    this.seams = seamsOf(this.laid);
    this.#place();
  }

  // Seams stay where they are now.
  #settle() {
    clearTimeout(this.timer);
    if (!this.isHeld) return;
    this.isHeld = false;
    if (JSON.stringify(this.seams) === JSON.stringify(this.laid.seams)) return this.free();
    this.laid.seams = this.seams.map((pegs) => [...pegs]);
    this.moved(this.seams);
  }

  // Put tiles and seams where they are, as parts of the plate.
  #place() {
    const edges = this.seams.map((pegs, axis) => [0, ...pegs, this.laid.size[axis]].map((peg) => (100 * peg) / this.laid.size[axis]));
    this.laid.tiles.forEach((tile, number) => {
      for (const [axis, { start, size }] of AXES.entries()) {
        const [peg, part] = [tile.place[axis], 100 / this.laid.size[axis]];
        const [from, to] = this.laid.is_grid ? [edges[axis][tile.at[axis]], edges[axis][tile.at[axis] + 1]]
          : [peg * part, (peg + tile.size[axis]) * part];
        this.tiles[number].style[start] = `${from}%`;
        this.tiles[number].style[size] = `${to - from}%`;
      }
    });
    this.bars.forEach((bars, axis) => bars.forEach((bar, place) => {
      const [least, most] = this.#limits(axis, place);
      bar.style[AXES[axis].start] = `${edges[axis][place + 1]}%`;
      bar.classList.toggle("stuck", least === most);
      bar.setAttribute("aria-label", `Seam after ${AXES[axis].peg}`);
      bar.setAttribute("aria-valuemin", least);
      bar.setAttribute("aria-valuemax", most);
      bar.setAttribute("aria-valuenow", this.seams[axis][place]);
      bar.setAttribute("aria-valuetext", this.#words(axis, place));
    }));
  }
}
