// What hands do on the canvas: mouse, touch, pen and keys become steps on cells and moves of the view.
const NEARER = 1.25;
const PAIR_MS = 900;  // within which two letters are one symbol

export class Reach {
  // drawn: the canvas; on: { press(cell), drag(cell), lift(cell), drop(), symbol(text) }, cells as [column, row].
  constructor(drawn, on) {
    Object.assign(this, { drawn, on, fingers: new Map(), pressed: false, typed: "", typedAt: 0 });
    this.at = [0, 0];
    const { canvas } = drawn;
    canvas.addEventListener("pointerdown", (event) => this.#down(event));
    canvas.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, (event) => this.#up(event));
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      drawn.nearer(NEARER ** (-Math.sign(event.deltaY)), event.offsetX, event.offsetY);
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => this.#key(event));
    canvas.addEventListener("focus", () => this.#hand());
    canvas.addEventListener("blur", () => { drawn.marks.hand = null; drawn.soon(); });
  }

  // Show where the keys' hand is.
  #hand() {
    const { cells } = this.drawn;
    if (!cells) return;
    this.at = [Math.min(this.at[0], cells.width - 1), Math.min(this.at[1], cells.height - 1)];
    this.drawn.marks.hand = this.at;
    this.drawn.reach(...this.at);
  }

  #cell(event) {
    return this.drawn.cell(event.offsetX, event.offsetY);
  }

  #down(event) {
    this.drawn.canvas.focus({ preventScroll: true });
    this.drawn.canvas.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, [event.offsetX, event.offsetY]);
    if (this.fingers.size === 2 && this.pressed) { this.pressed = false; this.on.drop(); }
    if (this.fingers.size > 1 || event.button !== 0) return;
    this.pressed = true;
    this.at = this.#cell(event);
    this.drawn.marks.hand = null;
    this.on.press(this.at);
  }

  #move(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = [event.offsetX, event.offsetY];
    this.fingers.set(event.pointerId, now);
    if (this.pressed) {
      this.at = this.#cell(event);
      this.on.drag(this.at);
    } else if (this.fingers.size === 2) {
      const [other] = [...this.fingers].filter(([id]) => id !== event.pointerId).map(([, place]) => place);
      const apart = (place) => Math.hypot(place[0] - other[0], place[1] - other[1]);
      this.drawn.move((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
      this.drawn.nearer(apart(now) / Math.max(1, apart(before)), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    } else {
      this.drawn.move(now[0] - before[0], now[1] - before[1]);
    }
  }

  #up(event) {
    this.fingers.delete(event.pointerId);
    if (!this.pressed) return;
    this.pressed = false;
    if (event.type === "pointercancel") this.on.drop();
    else this.on.lift(this.at);
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !this.drawn.cells) return;
    const step = STEPS[event.key];
    if (step) this.#step(step, event.shiftKey);
    else if (event.key === "Enter" || event.key === " ") this.#act();
    else if (event.key === "Escape") { this.pressed = false; this.on.drop(); }
    else if (event.key === "PageUp") this.drawn.nearer(NEARER);
    else if (event.key === "PageDown") this.drawn.nearer(1 / NEARER);
    else if (event.key === "Home") this.drawn.whole();
    else if (event.key.length === 1) this.#type(event.key);
    else return;
    event.preventDefault();
  }

  // Ten steps with Shift; where cells are picked by hand one, picking them.
  #step([byX, byY], isFar) {
    const picks = isFar && this.on.brushes() && !this.pressed, times = isFar && !picks ? 10 : 1;
    if (picks) this.on.press(this.at);
    const { width, height } = this.drawn.cells;
    const inside = (place, many) => Math.max(0, Math.min(many - 1, place));
    this.at = [inside(this.at[0] + byX * times, width), inside(this.at[1] + byY * times, height)];
    this.#hand();
    if (this.pressed || picks) this.on.drag(this.at);
    else this.on.look(this.at);
    if (picks) this.on.lift(this.at);
  }

  // Keys press and lift by turns where a way needs two places; else at once.
  #act() {
    if (this.pressed) { this.pressed = false; this.on.lift(this.at); return; }
    this.on.press(this.at);
    if (this.on.needsTwo()) this.pressed = true;
    else this.on.lift(this.at);
  }

  #type(letter) {
    const now = performance.now();
    this.typed = now - this.typedAt < PAIR_MS ? this.typed + letter : letter;
    this.typedAt = now;
    this.on.symbol(this.typed);
  }
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
