// What hands do on the drawing: drag, pinch, arrow keys, plus and minus; a tap takes a plate.
const DEGREES = 0.5;  // turned by a pixel
const STEP = 15;  // degrees, by a key
const NEARER = 1.2;
const TAP = 6;  // pixels that a finger may slip

export class Turning {
  // on: { by(yaw, pitch), nearer(by), home(), tap(x, y) }.
  constructor(element, on) {
    Object.assign(this, { element, on, fingers: new Map(), slipped: 0 });
    element.addEventListener("pointerdown", (event) => this.#down(event));
    element.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of ["pointerup", "pointercancel"]) element.addEventListener(name, (event) => this.#up(event));
    element.addEventListener("keydown", (event) => this.#key(event));
    element.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && document.activeElement !== element) return;  // the page scrolls on
      event.preventDefault();
      on.nearer(NEARER ** -Math.sign(event.deltaY));
    }, { passive: false });
  }

  #down(event) {
    this.element.focus({ preventScroll: true });
    this.element.setPointerCapture(event.pointerId);
    if (!this.fingers.size) this.slipped = 0;
    this.fingers.set(event.pointerId, [event.offsetX, event.offsetY]);
  }

  #move(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = [event.offsetX, event.offsetY];
    const [x, y] = [now[0] - before[0], now[1] - before[1]];
    this.slipped += Math.hypot(x, y);
    this.fingers.set(event.pointerId, now);
    if (this.fingers.size === 1) {
      if (this.slipped > TAP) this.on.by(x * DEGREES, y * DEGREES);
      return;
    }
    const [other] = [...this.fingers].filter(([id]) => id !== event.pointerId).map(([, place]) => place);
    const apart = (place) => Math.max(1, Math.hypot(place[0] - other[0], place[1] - other[1]));
    this.on.nearer(apart(now) / apart(before));
  }

  #up(event) {
    const place = this.fingers.get(event.pointerId);
    const isTap = this.fingers.size === 1 && this.slipped <= TAP && event.type === "pointerup";
    this.fingers.delete(event.pointerId);
    if (place && isTap) this.on.tap(...place);
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const way = WAYS[event.key];
    if (way) this.on.by(...way.map((side) => side * STEP));
    else if (event.key === "+" || event.key === "=") this.on.nearer(NEARER);
    else if (event.key === "-") this.on.nearer(1 / NEARER);
    else if (event.key === "Home") this.on.home();
    else return;
    event.preventDefault();
  }
}

const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
