// Asks what a plate of some settings would take: one question at a time, the newest wish next.
import { ask } from "/static/ask.js";

const SOON = 30;  // milliseconds in which several wishes become one question

export class Estimates {
  // told(found, settings): the answer to the newest question that was asked; refused(error).
  constructor(address, told, refused) {
    Object.assign(this, { address, told, refused, next: null, busy: false });
  }

  ask(settings) {
    this.next = settings;
    if (!this.busy) this.#go();
  }

  async #go() {
    this.busy = true;
    while (this.next) {
      await new Promise((go) => setTimeout(go, SOON));
      const settings = this.next;
      this.next = null;
      try {
        const found = await ask(`${this.address}/estimate`, { method: "POST", words: { settings } });
        this.told(found, settings);
      } catch (error) {
        if (!this.next) this.refused(error);
      }
    }
    this.busy = false;
  }
}

// What an estimate says, in lines: the first is the largest.
export function lines({ size, boards, beads, beads_are: how, cm, hours, price, sure }, many) {
  const about = sure ? "" : "about ";
  const cost = price === null ? "" : `, ${price} for the bags`;
  return [
    `${about}${size[0]} x ${size[1]} beads on ${many(boards)}`,
    `${how && `${how} `}${beads.toLocaleString("en")} beads, ${cm[0]} x ${cm[1]} cm`,
    `about ${hours} ${hours === 1 ? "hour" : "hours"}${cost}`,
  ];
}
