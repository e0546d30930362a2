// From where a figure is looked at: turned by two angles, nearer or farther.
const FIRST = { yaw: -32, pitch: 24, zoom: 1 };  // degrees
const MOST_ZOOM = 8;
const FAR = 4;  // of the eye from the middle, in radii of what is seen

export class View {
  constructor() {
    this.home();
  }

  home() {
    Object.assign(this, FIRST);
  }

  by(yaw, pitch) {
    this.yaw = ((this.yaw + yaw + 540) % 360) - 180;
    this.pitch = Math.max(-90, Math.min(90, this.pitch + pitch));
  }

  nearer(by) {
    this.zoom = Math.max(0.5, Math.min(MOST_ZOOM, this.zoom * by));
  }

  // Matrix by columns, and lens, for what has a middle and a radius, on a canvas of so many pixels.
  seen({ centre, radius }, width, height) {
    const [a, b] = [this.yaw, this.pitch].map((degrees) => degrees * Math.PI / 180);
    const [ca, sa, cb, sb] = [Math.cos(a), Math.sin(a), Math.cos(b), Math.sin(b)];
    const turn = [ca, sa * sb, -sa * cb, -sa, ca * sb, -ca * cb, 0, cb, sb];
    const scale = 0.94 * this.zoom / radius, wide = width / height;
    const [x, y] = wide > 1 ? [scale / wide, scale] : [scale, scale * wide];
    return { turn, centre, lens: [x, y, FAR * radius, radius], width, height };
  }

  // In words.
  words() {
    const sides = ["the front", "the front and the right", "the right", "the back and the right", "the back", "the back and the left", "the left", "the front and the left"];
    const side = sides[((Math.round(-this.yaw / 45) % 8) + 8) % 8];
    if (this.pitch > 75) return "Seen from above";
    if (this.pitch < -75) return "Seen from below";
    const high = Math.abs(this.pitch) < 8 ? "" : `, from ${Math.abs(this.pitch) < 40 ? "a little " : ""}${this.pitch > 0 ? "above" : "below"}`;
    return `Seen from ${side}${high}`;
  }
}

// Where a place of the figure is on the canvas, and how near.
export function project({ turn, centre, lens, width, height }, place) {
  const d = place.map((side, axis) => side - centre[axis]);
  const [x, y, z] = [0, 1, 2].map((row) => turn[row] * d[0] + turn[3 + row] * d[1] + turn[6 + row] * d[2]);
  const far = lens[2] - z;
  return [(x * lens[0] * lens[2] / far + 1) * width / 2, (1 - y * lens[1] * lens[2] / far) * height / 2, far];
}

// The nearest of some plates that has a bead under a point of the canvas: [number, column, row], or null.
export function hit(seen, plates, how, px, py) {
  const { turn, centre, lens, width, height } = seen;
  const x = (2 * px / width - 1) / lens[0], y = (1 - 2 * py / height) / lens[1];
  // Eye at (0, 0, lens[2]) looking through (x, y, 0), turned back into the figure.
  const back = (v) => [0, 1, 2].map((axis) => turn[3 * axis] * v[0] + turn[3 * axis + 1] * v[1] + turn[3 * axis + 2] * v[2]);
  const eye = back([0, 0, lens[2]]).map((side, axis) => side + centre[axis]);
  const ray = back([x, y, -lens[2]]);
  let best = null, nearest = Infinity;
  plates.forEach((plate, number) => {
    const told = how(number);
    if (!told) return;
    const dot = (one, two) => one.reduce((sum, each, i) => sum + each * two[i], 0);
    const middle = plate.origin.map((each, i) => each + told.shift[i] + 0.5 - eye[i]);
    for (const side of [-1, 1]) {
      const along = (dot(middle, plate.outward) + side * told.thick / 2) / dot(ray, plate.outward);
      if (!(along > 0) || along >= nearest) continue;
      const from = ray.map((each, i) => along * each - middle[i]);
      const column = Math.round(dot(plate.across, from)), row = Math.round(dot(plate.down, from));
      const [w, h] = plate.size;
      if (column < 0 || row < 0 || column >= w || row >= h || plate.cells[row * w + column] < 0) continue;
      nearest = along;
      best = [number, column, row];
    }
  });
  return best;
}
