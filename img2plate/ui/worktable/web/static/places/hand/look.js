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
    this.gaussians = about.gaussians.map((each, i) => ({ ...each, across: band(parts[`across-${i}`], width), down: band(parts[`down-${i}`], height) }));
    this.lift = { across: band(parts["lift-across"], this.wide), down: band(parts["lift-down"], height * SIDE) };
    this.at = new Int16Array(width * height).fill(NONE);  // beads that the planes know of
    this.cover = Uint8Array.from(parts.cover);
    // What is seen, of wide Gaussians at cells: all that they have to say until a bead is another.
    this.picture = { fine: planes((i, channel) => parts.seen[3 * i + channel], this.samples), coarse: planes(() => 0, width * height) };
    this.plate = { fine: planes((_, channel) => this.colours[3 * this.none + channel], this.samples), coarse: planes(() => 0, width * height) };
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

  // Add what changes of cells, [number, three differences], are to what is seen around them.
  #spread({ fine, coarse }, changes) {
    const rows = new Map(), { width } = this;
    for (const change of changes) {
      const y = Math.floor(change[0] / width);
      if (!rows.has(y)) rows.set(y, []);
      rows.get(y).push(change);
    }
    for (const gaussian of this.gaussians) {
      const [planes, side] = gaussian.wide ? [coarse, width] : [fine, this.wide], many = planes.length / 3;
      const plane = planes.subarray(gaussian.channel * many, (gaussian.channel + 1) * many), line = new Float32Array(side);
      for (const [y, changed] of rows) {
        const [low, high] = this.#along(line, gaussian, changed, y * width);
        this.#down(plane, line, gaussian.down, y, low, high);
        line.fill(0, low, high);
      }
    }
  }

  // Along a row: what its changes are to the line of samples; from where to where there is anything.
  #along(line, { channel, across: { first, values, length } }, changed, start) {
    let low = line.length, high = 0;
    for (const change of changed) {
      const by = change[1 + channel], x = change[0] - start;
      if (!by) continue;
      const from = first[x], to = Math.min(line.length, from + length);
      for (let s = from, i = x * length; s < to; s += 1, i += 1) line[s] += by * values[i];
      low = Math.min(low, from);
      high = Math.max(high, to);
    }
    return [low, high];
  }

  // That line, on all rows that see row y.
  #down(plane, line, { first, values, length }, y, low, high) {
    const side = line.length, last = Math.min(plane.length / side, first[y] + length);
    for (let row = first[y], i = y * length; row < last; row += 1, i += 1) {
      const by = values[i], start = row * side;
      if (by) for (let s = low; s < high; s += 1) plane[start + s] += by * line[s];
    }
  }

  // L*, a* and b* of what is seen.
  #lab({ fine, coarse }, into = new Float32Array(fine.length)) {
    const { samples, wide, xyz: m } = this;
    const whole = [0, 1, 2].map((channel) => this.#lifted(fine, coarse, channel));
    for (let row = 0, i = 0; i < samples; row += 1) {
      const [light, red, blue] = whole.map((lines) => lines(row));
      for (let s = 0; s < wide; s += 1, i += 1) {
        const l = light[s], r = red[s], b = blue[s];
        const y = lightness(m[3] * l + m[4] * r + m[5] * b);
        into[i] = 116 * y;
        into[samples + i] = 500 * (lightness(m[0] * l + m[1] * r + m[2] * b) - y);
        into[2 * samples + i] = 200 * (y - lightness(m[6] * l + m[7] * r + m[8] * b));
      }
    }
    return into;
  }

  // Lines of a channel, with what wide Gaussians say between cells: straight lines from one to the next.
  #lifted(fine, coarse, channel) {
    const { samples, wide, width, lift: { across, down } } = this, many = coarse.length / 3;
    const isWide = this.gaussians.some((each) => each.wide && each.channel === channel);
    const cells = new Float32Array(width + 1), line = new Float32Array(wide);
    return (row) => {
      const start = channel * samples + row * wide;
      if (!isWide) return fine.subarray(start, start + wide);
      const upper = channel * many + down.first[row] * width, part = down.values[row * down.length], rest = down.length > 1 ? down.values[row * down.length + 1] : 0;
      for (let x = 0; x < width; x += 1) cells[x] = part * coarse[upper + x] + (rest && rest * coarse[upper + width + x]);
      for (let s = 0; s < wide; s += 1) {
        const x = across.first[s], i = s * across.length;
        line[s] = fine[start + s] + across.values[i] * cells[x] + (across.length > 1 ? across.values[i + 1] * cells[x + 1] : 0);
      }
      return line;
    };
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

function lightness(light) {
  const place = Math.max(0, Math.min(STEPS - 1, (light - FROM) * STEPS / (TO - FROM))), i = place | 0;
  return LIGHTNESS[i] + (place - i) * (LIGHTNESS[i + 1] - LIGHTNESS[i]);
}

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
