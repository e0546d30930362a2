// The handle that makes the plate larger or smaller: in whole boards, or bead by bead.
import { make } from "/static/ask.js";
import { hold } from "/static/places/picture/hold.js";

const RUNG = 30;  // pixels of the screen from one size in whole boards to the next
const DOUBLE = 160;  // pixels that double a plate whose beads are counted one by one
const MOST_WIDE = 2000;
const FAR = 10;

export class Sizer {
  // stage: what the handle stays in; heard: moving(settings, handle), done(settings), left().
  constructor(stage, sheet, help, heard) {
    Object.assign(this, { stage, sheet, heard, active: false, bead: false, found: null });
    this.handle = make("button", { type: "button", className: "sizer", hidden: true });
    this.handle.setAttribute("role", "slider");
    this.handle.setAttribute("aria-describedby", help);
    sheet.append(this.handle);
    let start = 0;
    let began = null;
    const move = (value, dx = 0, dy = 0) => {
      this.value = Math.max(this.#least(), Math.min(Math.round(value), this.#most()));
      this.#follow(began, dx, dy);
      this.heard.moving(this.settings(), this.handle);
    };
    hold(this.handle, {
      begin: () => {
        this.active = true;
        this.value = start = this.#now();
        began = [this.stage.getBoundingClientRect(), this.handle.getBoundingClientRect()];
        move(start);
      },
      drag: (dx, dy) => {
        const far = Math.abs(dx) > Math.abs(dy) ? dx : dy;
        move(this.#isBead() ? start * 2 ** (far / DOUBLE) : start + far / RUNG, dx, dy);
      },
      nudge: ([dx, dy], far) => move(this.value + (dx - dy) * (far && this.#isBead() ? FAR : 1)),
      end: () => {
        this.active = false;
        this.handle.style.transform = "";
        if (this.value === start) this.heard.left(); else this.heard.done(this.settings());
      },
      leave: () => { this.active = false; this.handle.style.transform = ""; this.heard.left(); },
    });
  }

  // found: the newest estimate; box, size: the frame on the picture, under whose corner the handle is.
  show(found, box, size) {
    this.found = found;
    this.handle.hidden = !found;
    if (!found) return;
    this.handle.style.left = `${100 * (box[0] + box[2]) / size[0]}%`;
    this.handle.style.top = `${100 * (box[1] + box[3]) / size[1]}%`;
    const words = this.#isBead() ? `${found.size[0]} beads wide` : many(found.boards);
    this.handle.textContent = words;
    this.handle.setAttribute("aria-label", this.#isBead() ? "Size of the plate in beads" : found.sprite ? "Size of the plate in whole pixels" : "Size of the plate in whole boards");
    this.handle.setAttribute("aria-valuemin", this.#least());
    this.handle.setAttribute("aria-valuemax", this.#most());
    this.handle.setAttribute("aria-valuenow", this.active ? this.value : this.#now());
    this.handle.setAttribute("aria-valuetext", `${many(found.boards)}, ${found.size[0]} by ${found.size[1]} beads`);
  }

  // The settings of the size that the handle stands for.
  settings() {
    return this.#isBead() ? { width: String(this.value) } : this.found.sizes[this.value].settings;
  }

  #isBead() { return this.bead && !this.found.sprite; }
  #least() { return this.#isBead() ? 1 : 0; }
  #most() { return this.#isBead() ? MOST_WIDE : this.found.sizes.length - 1; }

  // Where the plate is now: its width, or the offered size that is nearest to it.
  #now() {
    if (this.#isBead()) return this.found.size[0];
    const off = ({ size }) => Math.abs(Math.log(size[0] * size[1] / (this.found.size[0] * this.found.size[1])));
    return this.found.sizes.reduce((best, each, number, all) => (off(each) < off(all[best]) ? number : best), 0);
  }

  // Go with the hand, as far as the stage goes.
  #follow([stage, handle], dx, dy) {
    const x = Math.max(stage.left - handle.left, Math.min(dx, stage.right - handle.right));
    const y = Math.max(stage.top - handle.top, Math.min(dy, stage.bottom - handle.bottom));
    this.handle.style.transform = dx || dy ? `translate(${x}px, ${y}px)` : "";
  }
}

// Boards in words.
export function many([across, down]) {
  return across * down === 1 ? "1 board" : `${across} x ${down} boards`;
}
