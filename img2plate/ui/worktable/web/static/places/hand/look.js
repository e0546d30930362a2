// The look error as it changes bead by bead. What it is made of comes from the pipeline (see make_look): the
// picture as the eye resolves it, and for each Gaussian of the eye what a bead adds to the samples around it.
// Three samples a side stand for each cell, so the page follows a change of the error; the error itself, of
// all samples, is the pipeline's.
import { NONE } from "/static/places/hand/cells.js";

const SIDE = 3;  // samples along a side of a cell
const FROM = -0.25, TO = 1.75, STEPS = 1 << 14;  // of light over white, in the table of its lightness

export class Look {
  // about: what the server tells, with the names and lengths of what lies in `numbers`; size of the plate in beads.
  constructor(about, numbers, [width, height]) {
    Object.assign(this, { about, width, height, wide: width * SIDE, samples: width * height * SIDE * SIDE });
    let start = 0;
    const parts = {};
    for (const [name, length] of Object.entries(about.parts)) { parts[name] = numbers.subarray(start, start + length); start += length; }
    this.colours = parts.beads;  // opponent channels of each bead, at the end those of no bead: white
    this.none = parts.beads.length / 3 - 1;
    this.means = parts.means;
    this.xyz = parts.xyz;
    this.bands = about.channels.map((channel, i) => ({ channel, across: band(parts[`across-${i}`], width), down: band(parts[`down-${i}`], height) }));
    this.at = new Int16Array(width * height).fill(NONE);  // beads that the planes know of
    this.cover = Uint8Array.from(parts.cover);
    this.picture = planes((i, channel) => parts.seen[3 * i + channel], this.samples);
    this.plate = planes((_, channel) => this.colours[3 * this.none + channel], this.samples);
    this.lab = this.#lab(this.picture);
    this.more = about.exact - about.sampled;
  }

  // Follow the beads of a plate.
  follow(at) {
    const laid = [], covered = [];
    for (let cell = 0; cell < at.length; cell += 1) {
      const bead = at[cell], is = bead === NONE ? 0 : 1;
      if (bead !== this.at[cell]) laid.push([cell, ...this.#apart(this.at[cell], bead)]);
      if (is !== this.cover[cell]) covered.push([cell, ...this.#shown(cell, is || -1)]);
      this.at[cell] = bead;
      this.cover[cell] = is;
    }
    if (laid.length) this.#spread(this.plate, laid);
    if (!covered.length) return;
    this.#spread(this.picture, covered);
    this.lab = this.#lab(this.picture, this.lab);
  }

  // How far a bead is from another, in each channel.
  #apart(old, bead) {
    const { colours } = this, from = 3 * (old === NONE ? this.none : old), to = 3 * (bead === NONE ? this.none : bead);
    return [0, 1, 2].map((channel) => colours[to + channel] - colours[from + channel]);
  }

  // What of the picture appears at a cell that gets a bead, or goes: without one it counts as white.
  #shown(cell, by) {
    return [0, 1, 2].map((channel) => by * (this.means[3 * cell + channel] - this.colours[3 * this.none + channel]));
  }

  // Add what changes of cells, [number, three differences], are to the samples around them.
  #spread(planes, changes) {
    const rows = new Map(), { width } = this;
    for (const change of changes) {
      const y = Math.floor(change[0] / width);
      if (!rows.has(y)) rows.set(y, []);
      rows.get(y).push(change);
    }
    const line = new Float32Array(this.wide);
    for (const { channel, across, down } of this.bands) {
      const plane = planes.subarray(channel * this.samples, (channel + 1) * this.samples);
      for (const [y, changed] of rows) {
        let low = this.wide, high = 0;
        for (const change of changed) {
          const by = change[1 + channel];
          if (!by) continue;
          const x = change[0] - y * width, from = across.first[x], to = Math.min(this.wide, from + across.length);
          for (let s = from, i = x * across.length; s < to; s += 1, i += 1) line[s] += by * across.values[i];
          low = Math.min(low, from);
          high = Math.max(high, to);
        }
        const last = Math.min(this.height * SIDE, down.first[y] + down.length);
        for (let row = down.first[y], i = y * down.length; row < last; row += 1, i += 1) {
          const by = down.values[i], start = row * this.wide;
          if (by) for (let s = low; s < high; s += 1) plane[start + s] += by * line[s];
        }
        line.fill(0, low, high);
      }
    }
  }

  // L*, a* and b* of opponent channels, without their constants and factors: f of X, Y and Z over white.
  #lab(planes, into = new Float32Array(planes.length)) {
    const { samples, xyz: m } = this, scale = STEPS / (TO - FROM);
    const f = (light) => {
      const place = Math.max(0, Math.min(STEPS - 1.001, (light - FROM) * scale)), i = place | 0;
      return LIGHTNESS[i] + (place - i) * (LIGHTNESS[i + 1] - LIGHTNESS[i]);
    };
    for (let i = 0; i < samples; i += 1) {
      const l = planes[i], r = planes[samples + i], b = planes[2 * samples + i];
      const y = f(m[3] * l + m[4] * r + m[5] * b);
      into[i] = 116 * y;
      into[samples + i] = 500 * (f(m[0] * l + m[1] * r + m[2] * b) - y);
      into[2 * samples + i] = 200 * (y - f(m[6] * l + m[7] * r + m[8] * b));
    }
    return into;
  }

  // The mean difference over cells with a bead (CIELAB 1976); NaN without any.
  sampled() {
    const { samples, wide, width, lab, at } = this;
    const own = this.own = this.#lab(this.plate, this.own);
    let sum = 0, many = 0;
    for (let row = 0, i = 0; i < samples; row += 1) {
      const start = Math.floor(row / SIDE) * width;
      for (let s = 0; s < wide; s += 1, i += 1) {
        if (at[start + ((s / SIDE) | 0)] === NONE) continue;
        const l = own[i] - lab[i], a = own[samples + i] - lab[samples + i], b = own[2 * samples + i] - lab[2 * samples + i];
        sum += Math.sqrt(l * l + a * a + b * b);
        many += 1;
      }
    }
    return sum / many;
  }

  error() {
    return Math.max(0, this.sampled() + this.more);
  }

  // What the pipeline says of the plate as it lies.
  know(exact) {
    this.more = exact - this.sampled();
  }
}

// CIELAB's f, as a table: a cube root takes long.
const LIGHTNESS = Float64Array.from({ length: STEPS + 1 }, (_, i) => {
  const light = FROM + i * (TO - FROM) / STEPS;
  return light > (6 / 29) ** 3 ? Math.cbrt(light) : (29 / 6) ** 2 / 3 * light + 4 / 29;
});

// Three channels, one after the other.
function planes(value, samples) {
  const found = new Float32Array(3 * samples);
  for (let channel = 0; channel < 3; channel += 1) {
    for (let i = 0; i < samples; i += 1) found[channel * samples + i] = value(i, channel);
  }
  return found;
}

// What the cells of an axis reach: the first sample, and as many values for each.
function band(numbers, count) {
  const length = numbers.length / count - 1;
  const first = new Int32Array(count), values = new Float32Array(count * length);
  for (let i = 0; i < count; i += 1) {
    first[i] = numbers[i * (length + 1)];
    values.set(numbers.subarray(i * (length + 1) + 1, (i + 1) * (length + 1)), i * length);
  }
  return { first, values, length };
}
