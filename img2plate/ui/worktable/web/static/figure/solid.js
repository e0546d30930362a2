// Draws plates as solid bodies with WebGL 2, in plain code: a plate is two faces whose beads a texture tells, and
// a wall wherever a bead has no neighbour. Beads are counted as x to the right, y away, z up.

const VERTEX = `#version 300 es
in vec3 at; in vec2 cell; in vec3 normal;
uniform vec3 origin, across, down, outward, centre; uniform float thick; uniform mat3 turn; uniform vec4 lens;
out vec2 spot; out vec2 bead; out float light; out float face;
void main() {
  vec3 place = origin + 0.5 + across * (at.x - 0.5) + down * (at.y - 0.5) + outward * at.z * thick * 0.5;
  vec3 seen = turn * (place - centre);
  vec3 way = turn * (across * normal.x + down * normal.y + outward * normal.z);
  light = 0.5 + 0.5 * max(0.0, dot(way, normalize(vec3(-0.35, 0.5, 0.8))));
  spot = at.xy; bead = cell; face = abs(normal.z);
  float far = lens.z - seen.z, near = lens.z - 1.5 * lens.w, end = lens.z + 1.5 * lens.w;
  gl_Position = vec4(seen.x * lens.x * lens.z, seen.y * lens.y * lens.z, (far * (end + near) - 2.0 * end * near) / (end - near), far);
}`;
const FRAGMENT = `#version 300 es
precision highp float;
in vec2 spot; in vec2 bead; in float light; in float face;
uniform sampler2D cells; uniform float hole, pale, chosen; uniform vec3 ground, accent;
out vec4 colour;
float there(ivec2 c) {
  ivec2 size = textureSize(cells, 0);
  return c.x < 0 || c.y < 0 || c.x >= size.x || c.y >= size.y ? 0.0 : texelFetch(cells, c, 0).a;
}
void main() {
  ivec2 c = clamp(ivec2(floor(bead)), ivec2(0), textureSize(cells, 0) - 1);
  vec4 found = texelFetch(cells, c, 0);
  if (found.a < 0.5) discard;
  vec3 shade = pow(found.rgb, vec3(2.2)) * light;
  if (face > 0.5) {
    vec2 f = spot - vec2(c) - 0.5;
    float fine = max(fwidth(spot.x), fwidth(spot.y)), seen = 1.0 - smoothstep(0.12, 0.4, fine);
    shade *= 1.0 - 0.6 * seen * step(0.02, hole) * (1.0 - smoothstep(hole - fine, hole + fine, length(f)));
    shade *= 1.0 - 0.3 * seen * smoothstep(0.5 - 1.5 * fine - 0.02, 0.5, max(abs(f.x), abs(f.y)));
    vec2 side = sign(f);
    float edge = max(smoothstep(0.5 - 2.0 * fine, 0.5 - fine, abs(f.x)) * (1.0 - there(c + ivec2(side.x, 0))),
      smoothstep(0.5 - 2.0 * fine, 0.5 - fine, abs(f.y)) * (1.0 - there(c + ivec2(0, side.y))));
    shade = mix(shade, mix(shade * 0.35, accent, chosen), edge);
  } else shade *= 0.85;
  shade = mix(shade, accent, 0.25 * chosen);
  colour = vec4(pow(mix(shade, ground, pale), vec3(1.0 / 2.2)), 1.0);
}`;
const NAMES = ["origin", "across", "down", "outward", "centre", "thick", "turn", "lens", "cells", "hole", "pale", "chosen", "ground", "accent"];

export class Solid {
  // Null where there is no WebGL 2.
  static on(canvas) {
    const gl = canvas.getContext("webgl2", { antialias: true, alpha: true });
    return gl ? new Solid(canvas, gl) : null;
  }

  constructor(canvas, gl) {
    Object.assign(this, { canvas, gl, plates: [], colours: null });
    canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => { this.#begin(); if (this.facts) this.show(this.facts); });
    this.#begin();
  }

  #begin() {
    const { gl } = this;
    const program = gl.createProgram();
    for (const [kind, source] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    gl.useProgram(program);
    this.program = program;
    this.at = Object.fromEntries(NAMES.map((name) => [name, gl.getUniformLocation(program, name)]));
    gl.enable(gl.DEPTH_TEST);
  }

  // Take the plates of a figure; those of the one before go.
  show(facts) {
    const { gl } = this;
    this.facts = facts;
    for (const { array, buffer, texture } of this.plates) { gl.deleteVertexArray(array); gl.deleteBuffer(buffer); gl.deleteTexture(texture); }
    const colours = new Map(facts.colours.map(({ place, hex }) => [place, [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16))]));
    this.plates = facts.plates.map((plate) => this.#plate(plate, colours));
  }

  #plate(plate, colours) {
    const { gl, program } = this;
    const { cells, size: [width, height] } = plate;
    const pixels = new Uint8Array(width * height * 4);
    cells.forEach((bead, number) => { if (bead >= 0) pixels.set([...colours.get(bead), 255], 4 * number); });
    const texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, width, height, 0, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
    for (const side of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, side, gl.NEAREST);
    const corners = shape(cells, width, height);
    const array = gl.createVertexArray(), buffer = gl.createBuffer();
    gl.bindVertexArray(array);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, corners, gl.STATIC_DRAW);
    for (const [name, many, from] of [["at", 3, 0], ["cell", 2, 12], ["normal", 3, 20]]) {
      const place = gl.getAttribLocation(program, name);
      gl.enableVertexAttribArray(place);
      gl.vertexAttribPointer(place, many, gl.FLOAT, false, 32, from);
    }
    return { array, buffer, texture, many: corners.length / 8 };
  }

  // view: { turn: 9 numbers, centre, lens }; how(number) tells { shift, thick, hole, pale, chosen } of a plate, or null to leave it out.
  draw(view, how, { ground, accent }, fine, side = 0) {
    const { gl, canvas, at } = this;
    const [width, height] = [canvas.clientWidth, canvas.clientHeight].map((each) => side || Math.max(1, Math.round(each * fine)));
    if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
    gl.viewport(0, 0, width, height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix3fv(at.turn, false, view.turn);
    gl.uniform3fv(at.centre, view.centre);
    gl.uniform4fv(at.lens, view.lens);
    gl.uniform3fv(at.ground, ground);
    gl.uniform3fv(at.accent, accent);
    this.plates.forEach((each, number) => {
      const plate = this.facts.plates[number], told = how(number);
      if (!told) return;
      gl.uniform3fv(at.origin, plate.origin.map((side, axis) => side + told.shift[axis]));
      for (const name of ["across", "down", "outward"]) gl.uniform3fv(at[name], plate[name]);
      for (const name of ["thick", "hole", "pale", "chosen"]) gl.uniform1f(at[name], told[name]);
      gl.bindTexture(gl.TEXTURE_2D, each.texture);
      gl.bindVertexArray(each.array);
      gl.drawArrays(gl.TRIANGLES, 0, each.many);
    });
  }
}

// Corners of a plate: place (column, row, side), the cell whose colour they have, where they look.
function shape(cells, width, height) {
  const found = [];
  const quad = (corners, cell, normal) => {
    for (const corner of [0, 1, 2, 0, 2, 3]) found.push(...corners[corner], ...(cell ?? corners[corner].slice(0, 2)), ...normal);
  };
  for (const side of [1, -1]) quad([[0, 0, side], [width, 0, side], [width, height, side], [0, height, side]], null, [0, 0, side]);
  const has = (x, y) => x >= 0 && y >= 0 && x < width && y < height && cells[y * width + x] >= 0;
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      if (!has(x, y)) continue;
      const cell = [x + 0.5, y + 0.5];
      for (const side of [0, 1]) {
        if (!has(x + 2 * side - 1, y)) quad([[x + side, y, -1], [x + side, y, 1], [x + side, y + 1, 1], [x + side, y + 1, -1]], cell, [2 * side - 1, 0, 0]);
        if (!has(x, y + 2 * side - 1)) quad([[x, y + side, -1], [x, y + side, 1], [x + 1, y + side, 1], [x + 1, y + side, -1]], cell, [0, 2 * side - 1, 0]);
      }
    }
  }
  return new Float32Array(found);
}
