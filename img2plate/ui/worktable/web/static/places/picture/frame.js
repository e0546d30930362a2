// A box on the picture: handles at its corners and edges, and the box itself, to be moved.
import { make } from "/static/ask.js";
import { hold } from "/static/places/picture/hold.js";

const SIDES = [
  [-1, -1, "upper left corner"], [0, -1, "upper edge"], [1, -1, "upper right corner"],
  [-1, 0, "left edge"], [1, 0, "right edge"],
  [-1, 1, "lower left corner"], [0, 1, "lower edge"], [1, 1, "lower right corner"],
];
const NARROW = 124;  // pixels of the screen below which handles of edges would lie on those of corners
const FAR = 10;  // steps of an arrow key with Shift

export class Frame {
  // sheet: the picture's element; name: what the box is called, as in "Crop"; help: id of the element
  // that says how keys move it; heard: moving(box, handle), done(box), left().
  constructor(sheet, { name, className, help }, heard) {
    Object.assign(this, { sheet, heard, active: false, box: [0, 0, 1, 1], limits: [0, 0, 1, 1] });
    this.mover = this.#handle([0, 0], `${name}: move all of it`, help, `mover ${className}`);
    this.handles = SIDES.map(([x, y, words]) => this.#handle([x, y], `${name}: ${words}`, help, `handle ${className} ${x && y ? "corner" : "edge"}`));
    this.elements = [this.mover, ...this.handles];
    sheet.append(...this.elements);
  }

  // box: [left, top, width, height] and limits: [left, top, right, bottom], in pixels of the picture
  // of `size`; step: pixels of an arrow key; snap(axis, value): the nearest place for an edge.
  show({ box, limits, size, step, snap }) {
    Object.assign(this, { limits, size, step, snap });
    if (!this.active) this.box = box;
    for (const element of this.elements) element.hidden = false;
    this.place();
  }

  hide() {
    for (const element of this.elements) element.hidden = true;
  }

  // Put the handles where the box is.
  place() {
    if (!this.size || this.handles[0].hidden) return;
    const [x, y, w, h] = this.box;
    const [width, height] = this.size;
    const seen = this.sheet.getBoundingClientRect();
    const narrow = [w / width * seen.width < NARROW, h / height * seen.height < NARROW];
    this.handles.forEach((handle, number) => {
      const [across, down] = SIDES[number];
      handle.style.left = `${100 * (x + w * (across + 1) / 2) / width}%`;
      handle.style.top = `${100 * (y + h * (down + 1) / 2) / height}%`;
      const isBetween = (!across && narrow[0]) || (!down && narrow[1]);
      handle.hidden = isBetween && handle !== document.activeElement;
    });
    this.mover.style.left = `${100 * x / width}%`;
    this.mover.style.top = `${100 * y / height}%`;
    this.mover.style.width = `${100 * w / width}%`;
    this.mover.style.height = `${100 * h / height}%`;
    const [left, top, right, bottom] = this.limits;
    this.mover.hidden = w >= right - left && h >= bottom - top;
  }

  #handle([across, down], words, help, className) {
    const handle = make("button", { type: "button", className, hidden: true });
    handle.setAttribute("aria-label", words);
    handle.setAttribute("aria-describedby", help);
    handle.dataset.side = `${across} ${down}`;
    let start = null;
    const move = (dx, dy) => {
      this.box = across || down ? this.#pulled(start, across, down, dx, dy) : this.#moved(start, dx, dy);
      this.place();
      this.heard.moving(this.box, handle);
    };
    hold(handle, {
      begin: () => { this.active = true; start = this.box; this.heard.moving(this.box, handle); },
      drag: (dx, dy) => {
        const seen = this.sheet.getBoundingClientRect();
        move(dx * this.size[0] / seen.width, dy * this.size[1] / seen.height);
      },
      nudge: ([dx, dy], far) => {
        const times = far ? FAR : 1;
        const before = start;
        start = this.box;
        move(dx * this.step[0] * times, dy * this.step[1] * times);
        start = before;
      },
      end: () => {
        this.active = false;
        if (`${start}` === `${this.box}`) this.heard.left(); else this.heard.done(this.box);
      },
      leave: () => { this.active = false; this.box = start; this.place(); this.heard.left(); },
    });
    return handle;
  }

  #pulled([x, y, w, h], across, down, dx, dy) {
    const [left, right] = this.#edges(0, x, x + w, across, dx);
    const [top, bottom] = this.#edges(1, y, y + h, down, dy);
    return [left, top, right - left, bottom - top];
  }

  // The two edges along an axis when one of them is pulled: at least a step apart.
  #edges(axis, low, high, side, by) {
    const [least, most] = [this.limits[axis], this.limits[axis + 2]];
    const apart = Math.max(1, Math.ceil(this.step[axis]));
    if (side < 0) low = Math.max(least, Math.min(this.snap(axis, low + by), high - apart));
    if (side > 0) high = Math.min(most, Math.max(this.snap(axis, high + by), low + apart));
    return [Math.max(low, least), Math.min(high, most)];
  }

  #moved([x, y, w, h], dx, dy) {
    const [left, top, right, bottom] = this.limits;
    const held = (value, low, high) => Math.max(low, Math.min(value, high));
    return [held(this.snap(0, x + dx), left, right - w), held(this.snap(1, y + dy), top, bottom - h), w, h];
  }
}
