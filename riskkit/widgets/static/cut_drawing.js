// The moving cut, first part: drawing. Plain JavaScript, no build step: `cut.py` puts this file
// before cut.js, and the two are one module.
//
// Where every part stands comes with the scene, worked out in Python for this and the still cut:
// metres relative to the basement floor, x = 0 in the middle of the pit. Here are colours, views and
// motion. All text is set in pixels, whatever the scale of the drawing. Colours are Okabe and Ito's;
// each also has a shape. What is dashed is assumed.

const SVG = "http://www.w3.org/2000/svg";
const WATER = "#0072B2", RAIN = "#2B8CC4", ALARM = "#D55E00", INK = "#1d2b33";
const EARTH = "#e3d9c8", FILL = "#efe8dc", CONCRETE = "#cfd2d1", ROOM = "#fcfbf8";

// ---- small helpers ---------------------------------------------------------------------------

function element(space, name, attributes, parent) {
  const made = space ? document.createElementNS(space, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes ?? {})) {
    if (key === "text") made.textContent = value;
    else made.setAttribute(key, value);
  }
  parent?.append(made);
  return made;
}
const svg = (name, attributes, parent) => element(SVG, name, attributes, parent);
const html = (name, attributes, parent) => element(null, name, attributes, parent);
const clamp = (value, low, high) => Math.min(Math.max(value, low), high);
const points = (list) => list.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");

// Places for labels: as near as can be to where they are wanted, never closer than the gap.
export function spread(wanted, gap, low, high) {
  const order = wanted.map((_, i) => i).sort((a, b) => wanted[a] - wanted[b]);
  const places = [];
  let last = low - gap;
  for (const i of order) places[i] = last = Math.max(wanted[i], last + gap);
  let next = high + gap;
  for (const i of order.reverse()) places[i] = next = Math.min(places[i], next - gap);
  return places;
}

// ---- drawing ------------------------------------------------------------------------------------

function patterns(defs, id) {
  const make = (name, size, marks) => {
    const pattern = svg("pattern", { id: `${id}-${name}`, width: size, height: size,
      patternUnits: "userSpaceOnUse" }, defs);
    for (const [tag, attributes] of marks) svg(tag, attributes, pattern);
  };
  const dot = (cx, cy, r, fill) => ["circle", { cx, cy, r, fill }];
  const stone = (cx, cy, rx, ry) => ["ellipse", { cx, cy, rx, ry, fill: "#fff", "stroke-width": 0.8,
    stroke: "#8d8677" }];
  make("earth", 22, [["rect", { width: 22, height: 22, fill: EARTH }], dot(4, 5, 0.9, "#b8a98c"),
    dot(15, 9, 0.7, "#b8a98c"), dot(9, 17, 0.8, "#b8a98c"), dot(20, 19, 0.6, "#b8a98c")]);
  make("fill", 18, [["rect", { width: 18, height: 18, fill: FILL }],
    ["path", { d: "M3 5l3 -2M12 13l3 -2", stroke: "#c9bda6", "stroke-width": 1 }]]);
  make("gravel", 13, [["rect", { width: 13, height: 13, fill: "#d9d3c6" }], stone(3.5, 3.5, 2.6, 2),
    stone(10, 4.5, 2.1, 2.4), stone(6.5, 10, 2.8, 2)]);
  make("concrete", 26, [["rect", { width: 26, height: 26, fill: CONCRETE }], dot(5, 6, 0.8, "#9fa5a5"),
    dot(18, 4, 1, "#9fa5a5"), dot(12, 15, 0.8, "#9fa5a5"), dot(22, 21, 0.9, "#9fa5a5"),
    dot(4, 22, 0.7, "#9fa5a5")]);
  make("ground-water", 16, [["path", { d: "M1 4h6M9 12h6", stroke: WATER, "stroke-width": 1.2 }]]);
}

// Half the width of the pit at a level.
function halfAt(pit, level) {
  const share = clamp(1 + level / pit.depth_m, 0, 1);
  return (pit.bottom_width_m + share * (pit.width_m - pit.bottom_width_m)) / 2;
}

// Where water stands in the fill beside the wall, as `beside_water` of the geometry has it.
function besideWater({ low_m: low, high_m: ground, wall_m: wall, edge: [[x1, y1], [x2, y2]] }, level) {
  const high = Math.min(level ?? low, ground), edge = (y) => x1 + (y - y1) / (y2 - y1) * (x2 - x1);
  return high <= low ? [] : [[wall, low], [edge(low), low], [edge(high), high], [wall, high]];
}

const EDGE = { stroke: INK, "stroke-width": 1.1 };
const PAINTS = {
  sky: () => ({ fill: "#eef4f8" }), room: () => ({ fill: ROOM }), pit: () => ({ fill: "#fff" }),
  earth: (fill) => ({ fill: fill("earth") }), fill: (fill) => ({ fill: fill("fill") }),
  gravel: (fill) => ({ fill: fill("gravel") }), wood: () => ({ fill: "#f0e6d6", ...EDGE }),
  concrete: (fill) => ({ fill: fill("concrete"), ...EDGE }), drain: () => ({ fill: "#fff", ...EDGE }),
};
const LINES = {
  grass: { stroke: "#5d6b3a", "stroke-width": 3 }, liner: { stroke: INK, "stroke-width": 2 },
  "water-table": { stroke: WATER, "stroke-width": 1.5 },
};
const dashed = (state, dash = "5 4") => (state === "assumed" ? { "stroke-dasharray": dash } : {});

// Draw the cut into `parent` as seen through a view {left, right, top, bottom, X, Y, scale}, and
// return what moves.
function drawCut(parent, scene, view, id) {
  const { scale: s, left, right, top, bottom } = view;
  const { pit, slab_m: slab, gravel_m: gravel, switch: sw, geometry: at, parts } = scene;
  const [drain, drainTop] = at.drain_m, depth = pit.depth_m, inner = at.inner_m;
  const xl = (left - view.X(0)) / s - 1, xr = (right - view.X(0)) / s + 1; // all beyond is clipped away
  const yt = (view.Y(0) - top) / s + 1, yb = (view.Y(0) - bottom) / s - 1;
  const X = (m) => view.X(clamp(m, xl, xr)), Y = (m) => view.Y(clamp(m, yb, yt));
  const clip = svg("clipPath", { id: `${id}-view` }, parent);
  svg("rect", { x: left, y: top, width: right - left, height: bottom - top }, clip);
  const g = svg("g", { "clip-path": `url(#${id}-view)` }, parent);
  const box = (x1, y1, x2, y2, more) => svg("rect", { x: X(x1), y: Y(y1), ...more,
    width: Math.max(0, X(x2) - X(x1)), height: Math.max(0, Y(y2) - Y(y1)) }, g);
  const shape = (list, more) => svg("polygon", { points: points(list.map(([x, y]) => [X(x), Y(y)])),
    ...more }, g);
  const line = (list, more) => svg("polyline", { fill: "none", stroke: INK, "stroke-width": 1.2,
    points: points(list.map(([x, y]) => [X(x), Y(y)])), ...more }, g);
  const fill = (name) => `url(#${view.patterns}-${name})`;
  const moving = {};

  const slots = {
    "fill-water": () => {
      moving.beside = shape([], { class: "beside", fill: WATER, "fill-opacity": 0.4 });
      moving.top = line([], { class: "beside-top", stroke: "#003f66", "stroke-width": 2 });
    },
    "joint-water": () => {
      const [, , [x, y]] = at.beside.joint;
      moving.joint = [line(at.beside.joint, { class: "joint", stroke: WATER, "stroke-width": 3.5 }),
        shape([[x, y], [x + 0.3, y], [x, y + 0.035]], { class: "joint-puddle", fill: WATER })];
    },
    "gravel-water": () => { moving.gravel = box(inner, -slab, xr, -slab, { fill: WATER, "fill-opacity": 0.45 }); },
    "drain-water": () => {
      moving.drain = box(at.drain_x_m, drain, -halfAt(pit, drainTop), drain, { fill: WATER, "fill-opacity": 0.75 });
    },
    water: () => {
      moving.range = shape([], { fill: WATER, "fill-opacity": 0.35 });
      moving.water = shape([], { fill: WATER, "fill-opacity": 0.7 });
      moving.floor = box(inner, 0, xr, 0, { class: "floor-water", fill: WATER, "fill-opacity": 0.7 });
      moving.surface = line([], { stroke: "#003f66", "stroke-width": 2 });
    },
    pipe: () => drawPipe(),
    pump: () => drawPump(),
    floats: () => drawFloats(),
  };
  const flows = []; // seen only while the pump runs

  // discharge pipe, to where it ends; a valve on the riser
  const drawPipe = () => {
    const { inside, outside, spout, arrow, break: gap } = at.pipe, bore = clamp(0.05 * s, 3, 14);
    const joined = { "stroke-linejoin": "round" };
    for (const [way, part] of [[outside, "outlet"], [inside, "pipe"]]) {
      line(way, { class: part, "stroke-width": bore + 2.4, ...joined, ...dashed(parts[part]) });
      line(way, { stroke: "#fff", "stroke-width": bore, ...joined });
    }
    const way = [...inside, ...outside.slice(1)];
    flows.push(line(way, { class: "flow", stroke: WATER, "stroke-width": bore, "stroke-opacity": 0.55, ...joined }));
    moving.pulse = line(way, { stroke: "#fff", "stroke-width": Math.max(1.5, bore / 3), "stroke-dasharray": "5 15",
      ...joined });
    flows.push(moving.pulse);
    if (gap) {
      const x = X(gap[0]), y = Y(gap[1]), h = bore / 2 + 5;
      svg("path", { class: "break", fill: "#fff", d: `M${x - 3} ${y + h}l5 ${-2 * h}h7l-5 ${2 * h}z` }, g);
      svg("path", { fill: "none", ...EDGE, d: `M${x - 3} ${y + h}l5 ${-2 * h}m7 0l-5 ${2 * h}` }, g);
    }
    if (arrow) {
      svg("path", { class: "arrow", fill: WATER, d: `M${X(arrow[0]) - 10} ${Y(arrow[1])}l13 -7v14z` }, g);
    }
    if (spout) {
      flows.push(svg("path", { class: "spout", stroke: WATER, "stroke-width": 2.2, fill: "none", d: [0, 1, 2].map((k) =>
        `M${X(spout[0]) - 2} ${Y(spout[1]) + 2 * k - 2}q-9 ${k} ${-14 - 3 * k} ${0.06 * s + k}`).join("") }, g));
    }
    if (at.valve) {
      const [x, y] = [X(at.valve[0]), Y(at.valve[1])], w = bore / 2 + 4, h = w * 1.3;
      svg("rect", { class: "valve", x: x - w, y: y - h, width: 2 * w, height: 2 * h, rx: 2, fill: "#f4f4f2", ...EDGE,
        ...dashed(parts.check_valve, "2.5 2") }, g);
      svg("path", { fill: INK, d: `M${x - w * 0.6} ${y + h * 0.45}l${w * 0.6} ${-h * 0.9}l${w * 0.6} ${h * 0.9}z` }, g);
      if (parts.check_valve === "failed") drawCross(x, y, w + 2, "broken");
    }
  };
  const drawCross = (x, y, r, name) => svg("path", { class: name, stroke: ALARM, "stroke-width": 2.5,
    d: `M${x - r} ${y - r}l${2 * r} ${2 * r}m0 ${-2 * r}l${-2 * r} ${2 * r}` }, g);

  // pump, with a wheel that turns and a cross when it does not work
  const drawPump = () => {
    const { x_m: px, low_m: base, high_m: head, width_m: pw } = at.pump, ph = head - base;
    moving.body = box(px - pw / 2, head, px + pw / 2, base, { class: "pump", rx: 4, fill: "#f4f4f2", stroke: INK,
      "stroke-width": 1.6, ...dashed(parts.pump) });
    const wheel = svg("g", { transform: `translate(${X(px)} ${Y(base + ph * 0.42)})` }, g);
    const wr = Math.min(pw, ph) * 0.34 * s;
    svg("circle", { r: wr, fill: "#fff", stroke: INK, "stroke-width": 1.2 }, wheel);
    moving.blades = svg("path", { stroke: INK, "stroke-width": Math.max(1.2, wr / 5),
      d: [0, 1, 2].map((k) => `M0 0L${wr * 0.85 * Math.cos(k * 2.094)} `
        + `${wr * 0.85 * Math.sin(k * 2.094)}`).join("") }, wheel);
    const cw = pw * 0.46 * s, ch = ph * 0.46 * s;
    moving.cross = svg("path", { class: "cross", stroke: ALARM,
      "stroke-width": clamp(cw / 8, 2.5, 5), "stroke-linecap": "round",
      d: `M${X(px) - cw} ${Y(base + ph / 2) - ch}l${2 * cw} ${2 * ch}m0 ${-2 * ch}l${-2 * cw} ${2 * ch}` }, g);
  };

  // floats: one starts and stops the pump, a smaller one on a rod calls the alarm on the wall
  const drawFloats = () => {
    if (at.pump) {
      const r = at.float.radius_m * s;
      moving.tether = svg("line", { stroke: INK, "stroke-width": 1.2, x1: X(at.pump.x_m), y1: Y(at.float.tether_m) }, g);
      moving.float = svg("ellipse", { class: "float", rx: r, ry: r * 0.8, fill: "#F0E442", stroke: INK,
        "stroke-width": 1.3 }, g);
    }
    if (!at.alarm) return;
    const state = parts.alarm, soft = dashed(state, "2.5 2");
    line(at.alarm.rod, { "stroke-width": 1.3, ...soft });
    moving.bob = svg("circle", { class: "bob", r: at.alarm.radius_m * s, cx: X(at.alarm.x_m), fill: "#fff", stroke: ALARM,
      "stroke-width": 2, ...soft }, g);
    line(at.alarm.cord, { stroke: "#9aa3a7", "stroke-width": 1, ...soft });
    const [bx, by] = at.alarm.bell, x = X(bx) + 9, y = Y(by);
    const bell = svg("g", { class: "bell", transform: `translate(${x} ${y})` }, g);
    svg("path", { d: "M-7 6c3 -2 2 -5 3 -8a4 4 0 0 1 8 0c1 3 0 6 3 8zM-2.5 8.5h5", fill: "#fff",
      stroke: INK, "stroke-width": 1.4, ...soft }, bell);
    if (state === "failed") drawCross(x, y, 9, "broken");
    else moving.sound = svg("path", { class: "sound", d: "M12 -5a8 8 0 0 1 0 11M17 -8a13 13 0 0 1 0 17M22 -11a18 18 0 0 1 0 23",
      fill: "none", stroke: ALARM, "stroke-width": 2.4, "stroke-linecap": "round" }, bell);
  };

  for (const { slot, paint, points: list, state, part } of at.shapes) {
    const name = part ? { class: part } : {}, dash = dashed(state);
    if (slot) slots[slot]();
    else if (paint in LINES) line(list, { ...LINES[paint], ...dash, ...name });
    else if (paint === "ground-water") {
      shape(list, { fill: WATER, "fill-opacity": 0.1 });
      shape(list, { fill: fill("ground-water"), opacity: 0.25 });
      const [tx, ty] = [at.outer_m - 0.5, at.water_table.findLast(([x]) => x <= at.outer_m - 0.5)[1]];
      svg("path", { d: `M${X(tx)} ${Y(ty) - 1}l-6 -10h12z`, fill: "#fff", stroke: WATER, "stroke-width": 1.4 }, g);
    } else if (paint === "drain-end") {
      svg("circle", { cx: X(list[0][0]), cy: Y(list[0][1]), r: (drainTop - drain) / 2 * s, fill: "#fff", ...EDGE, ...dash }, g);
    } else {
      const edge = state === "assumed" ? EDGE : {};
      shape(list, { ...edge, ...PAINTS[paint](fill), ...dash, ...name });
    }
  }

  const size = (rect, high, low) => {
    rect.setAttribute("y", Y(high));
    rect.setAttribute("height", Math.max(0, Y(low) - Y(high)));
  };
  const filled = (level, from) => {
    const up = clamp(level, -depth, 0), low = clamp(from, -depth, 0);
    const a = halfAt(pit, up), b = halfAt(pit, low);
    return points([[X(-a), Y(up)], [X(-b), Y(low)], [X(b), Y(low)], [X(a), Y(up)]]);
  };
  const seen = (what, yes) => what?.setAttribute("visibility", yes ? "visible" : "hidden");
  const sky = g.querySelector("polygon"); // painted first
  const show = (state, turn) => {
    const { level } = state, up = clamp(level, -depth, 0);
    const grey = 93 - clamp(state.rain / 4, 2, 14);
    sky.setAttribute("fill", state.rain > 0 ? `hsl(205 22% ${grey}%)` : "#eef4f8");
    moving.water.setAttribute("points", filled(state.low, -depth));
    moving.range.setAttribute("points", filled(state.high, state.low));
    if (moving.gravel) size(moving.gravel, clamp(level, -slab - gravel, -slab), -slab - gravel);
    size(moving.drain, clamp(Math.max(level, state.beside ?? level), drain, drainTop), drain);
    const stands = besideWater(at.beside, state.beside).map(([x, y]) => [X(x), Y(y)]);
    moving.beside.setAttribute("points", points(stands));
    moving.top.setAttribute("points", points(stands.slice(2)));
    for (const part of moving.joint) seen(part, state.joint);
    size(moving.floor, Math.max(0, level), 0);
    const a = level > 0 ? null : halfAt(pit, up);
    moving.surface.setAttribute("points", a === null ? points([[X(inner), Y(level)], [X(xr), Y(level)]])
      : points([[X(-a), Y(up)], [X(a), Y(up)]]));
    if (moving.bob) {
      moving.bob.setAttribute("cy", Y(clamp(level, at.alarm.low_m, at.alarm.high_m)));
      moving.bob.setAttribute("fill", state.alarm ? ALARM : "#fff");
    }
    seen(moving.sound, state.alarm);
    if (!at.pump) return;
    const rides = clamp(level, at.float.low_m, at.float.high_m), fx = at.float.x_m;
    moving.float.setAttribute("transform", `translate(${X(fx)} ${Y(rides)})`);
    moving.tether.setAttribute("x2", X(fx)); moving.tether.setAttribute("y2", Y(rides));
    const works = state.pump === "running" || state.pump === "cycling";
    moving.body.setAttribute("fill", works ? "#bfe5d8" : "#f4f4f2");
    moving.body.setAttribute("stroke", works ? "#00674c" : INK);
    for (const flow of flows) seen(flow, works);
    seen(moving.cross, state.pump === "stopped");
    if (works) {
      moving.blades.setAttribute("transform", `rotate(${(turn * 300) % 360})`);
      moving.pulse.setAttribute("stroke-dashoffset", -((turn * 60) % 20));
    }
  };
  return { show, g };
}

// ---- labels, views and the whole picture ----------------------------------------------------------

function textWidth(parent, text) {
  const trial = svg("text", { class: "label", text }, parent), width = trial.getComputedTextLength();
  trial.remove();
  return width;
}

function orders(list) {
  if (list.length < 2) return [list];
  return list.flatMap((one, i) => orders(list.toSpliced(i, 1)).map((rest) => [one, ...rest]));
}

// A column of labels beside a drawing, each with a line to its target: {text, x, y, key, dy}. With
// `dy` the label stands just off its target and gets a line only where it had to move. Of all ways
// to hand out the places the one with the shortest lines is taken: such lines never cross.
function labels(parent, items, { x, side, low, high, gap, name }) {
  const g = svg("g", { class: `labels ${name}` }, parent);
  const texts = items.map((item) => svg("text", { class: "label", x, "data-key": item.key ?? "",
    "text-anchor": side === "right" ? "end" : "start", text: item.text }, g));
  const own = texts.map((text) => text.getComputedTextLength() + 4), long = Math.max(...own) + 6;
  const knee = { left: x + long, right: x - long, gutter: x - 18 }[side];
  const targets = items.map((item) => item.x(knee));
  const stays = (item, y) => item.dy && Math.abs(y - item.y - item.dy) < 6;
  let places = spread(items.map((item) => item.y + (item.dy ?? 0)), gap, low, high);
  if (side !== "gutter") {
    const far = (ys) => ys.reduce((sum, y, i) => sum + (stays(items[i], y) ? 0
      : Math.hypot(targets[i] - knee, items[i].y - y) + (items[i].dy ? 99 : 0)), 0);
    places = orders(places).reduce((best, next) => (far(next) < far(best) - 1e-6 ? next : best));
  }
  items.forEach((item, i) => {
    const y = places[i];
    texts[i].setAttribute("y", y + 4);
    if (stays(item, y)) return;
    const from = side === "left" ? x + own[i] : side === "right" ? x - own[i] : x - 4;
    svg("path", { class: "leader", d: side === "gutter" ? `M${from} ${y}L${knee} ${item.y}H${targets[i]}`
      : `M${from} ${y}H${knee}L${targets[i]} ${item.y}` }, g);
    if (side !== "gutter") svg("circle", { class: "end", cx: targets[i], cy: item.y, r: 2.2 }, g);
  });
}

function scaleBar(parent, scene, x, y, scale, fromRight) {
  const perLarge = scene.show.distance[1];
  const choices = scene.units === "us"
    ? [[0.5 / perLarge, "6 in"], [1 / perLarge, "1 ft"], [3 / perLarge, "3 ft"]]
    : [[0.1, "10 cm"], [0.5, "50 cm"], [1, "1 m"]];
  const [m, text] = choices.find(([length]) => length * scale >= 26) ?? choices.at(-1);
  const g = svg("g", { class: "scale-bar" }, parent);
  const label = svg("text", { class: "label", y: y + 4, text }, g);
  const from = fromRight ? x - m * scale - 6 - label.getComputedTextLength() : x;
  label.setAttribute("x", from + m * scale + 6);
  svg("path", { d: `M${from} ${y - 4}v8m0 -4h${m * scale}m0 -4v8`, stroke: INK, fill: "none" }, g);
}

function viewOf(frame, scale, cx, fy, patternsId) {
  return { ...frame, scale, X: (m) => cx + m * scale, Y: (m) => fy - m * scale,
    patterns: patternsId };
}

function houseView(scene, frame, id) {
  const { depth_m: depth, width_m: width } = scene.pit, half = width / 2;
  const up = Math.max(scene.outlet_m + 0.45, scene.ground_m + 0.8, 2.3);
  const down = Math.max(depth, -scene.drain_m) + 0.22;
  const wide = frame.right - frame.left;
  const scale = Math.min((frame.bottom - frame.top) / (up + down), wide / (width + 2.3));
  const cx = Math.min(frame.left + 0.36 * wide - scene.geometry.outer_m * scale,
    frame.right - (half + 0.35) * scale);
  return viewOf(frame, scale, cx, frame.bottom - down * scale, id);
}

function pitView(scene, frame, highest, id) {
  const { depth_m: depth, width_m: width } = scene.pit, beside = 118;
  const down = 0.08 * depth, up = clamp(highest + 0.05, 0.2 * depth, 1);
  const scale = Math.min((frame.bottom - frame.top) / (depth + down + up),
    (frame.right - frame.left - beside - 14) / width);
  const spare = frame.bottom - frame.top - (depth + down + up) * scale;
  return viewOf(frame, scale, frame.left + beside + width / 2 * scale,
    frame.bottom - down * scale - depth * scale - spare * 0.35, id);
}

// The picture of a scene: returns show(state, turn, speak), which moves it and, if it
// may speak, renews its words.
function drawPicture(parent, scene, words, highest, width, height, id) {
  parent.replaceChildren();
  parent.setAttribute("width", width);
  parent.setAttribute("height", height);
  const stacked = width < 720;
  patterns(svg("defs", {}, parent), id);
  const split = stacked ? width : Math.round(width * 0.5), half = Math.round(height / 2);
  const house = { left: 1, right: split - 1, top: 1, bottom: (stacked ? half - 6 : height) - 1 };
  const { geometry: at, words: names, parts } = scene, { marks } = at;
  const gutter = 36 + Math.max(124, ...marks.map(({ text }) => textWidth(parent, text)),
    textWidth(parent, names.pump));
  const frame = stacked ? { left: 1, right: width - 1, top: half + 6, bottom: height - 1 }
    : { left: split + 14, right: width - 1, top: 1, bottom: height - 1 };
  const pitFrame = { ...frame, right: frame.right - gutter };

  const far = houseView(scene, house, id), near = pitView(scene, pitFrame, highest, id);
  const first = drawCut(parent, scene, far, `${id}-house`);
  const drops = svg("path", { stroke: RAIN, "stroke-width": 1.6, "stroke-linecap": "round",
    class: "rain" }, first.g);
  const { X, Y } = far;

  // what is enlarged
  const a = { x: X(-at.half_m) - 6, y: Y(0) - 10 }, b = { x: X(at.half_m) + 6, y: house.bottom - 2 };
  svg("rect", { x: a.x, y: a.y, width: b.x - a.x, height: b.y - a.y, class: "lens", rx: 4 }, parent);
  const roomy = b.x + 80 < house.right;
  svg("text", { class: "label soft", x: roomy ? b.x + 6 : a.x - 6, y: b.y - 6, text: "enlarged",
    "text-anchor": roomy ? "start" : "end" }, parent);

  // targets right of the pit where there is room before the labels, else between wall and pit
  const beside = (right, left) => (knee) => (X(at.half_m) + right < knee - 6 ? X(at.half_m) + right
    : X(at.inner_m) + left);
  const room = [{ text: "Basement floor", x: beside(26, 0.16 * far.scale), y: Y(0) }];
  if (at.pipe) room.push({ text: names.pipe, x: (knee) => Math.min(X(at.pump.x_m) + 4, knee - 5),
    y: Y(scene.outlet_m * 0.82) });
  if (at.valve) room.push({ text: names.check_valve, x: (knee) => Math.min(X(at.valve[0]) - 5, knee - 5),
    y: Y(at.valve[1]) });
  if (at.alarm) room.push({ text: names.alarm, x: () => X(at.alarm.bell[0]) + 18, y: Y(at.alarm.bell[1]) });
  labels(parent, room, { x: house.right - 10, side: "right", low: house.top + 38, high: Math.max(Y(Math.max(0, highest)) - 24,
    house.top + 130),
    gap: 20, name: "room" });
  const yardX = (knee) => Math.max(knee + 6, house.left + 146);
  const yard = [{ text: names.ground, x: yardX, y: Y(scene.ground_m), dy: 13 },
    { text: names.drain, x: () => X(at.drain_x_m) - (at.drain_m[1] - at.drain_m[0]) / 2 * far.scale,
      y: Y((at.drain_m[0] + at.drain_m[1]) / 2) }];
  if (at.pipe) {
    yard.push({ text: names.outlet, x: () => X(at.pipe.end[0]), y: Y(at.pipe.end[1]), dy: at.pipe.spout ? -18 : 18 });
  }
  const table = at.water_table?.findLast(([x]) => X(x) <= house.left + 60)[1];
  if (at.water_table && Y(table) < house.bottom - 16) {
    yard.push({ text: names.water_table, x: yardX, y: Y(table), dy: -12 });
  }
  labels(parent, yard, { x: house.left + 8, side: "left", gap: 20, name: "yard",
    low: house.top + 20, high: house.bottom - 14 });
  scaleBar(parent, scene, house.right - 10, house.top + 18, far.scale, true);
  svg("rect", { x: house.left, y: house.top, width: house.right - house.left,
    height: house.bottom - house.top, class: "frame", rx: 6 }, parent);

  // the pit, enlarged
  svg("rect", { x: frame.left, y: frame.top, width: frame.right - frame.left,
    height: frame.bottom - frame.top, fill: "#fff", rx: 6 }, parent);
  const second = drawCut(parent, scene, near, `${id}-pit`);
  for (const { key, level_m: m, half_m: reach, state } of marks) {
    if (key === "floor" || key === "bottom") continue;
    svg("line", { class: `mark ${key} ${state}`, x1: near.X(-reach), x2: near.X(reach), y1: near.Y(m),
      y2: near.Y(m) }, second.g);
  }
  const levels = marks.map(({ key, level_m: m, half_m: reach, text }) => ({ text, key, y: near.Y(m),
    x: () => near.X(reach) }));
  if (parts.gravel !== "none") {
    levels.push({ text: names.gravel.toLowerCase(), key: "gravel", y: near.Y(at.gravel_m),
      x: () => near.X(at.half_m) + 7 });
  }
  if (at.pump && parts.pump !== "known") {
    levels.push({ text: names.pump.toLowerCase(), key: "pump", y: near.Y(at.pump.low_m + 0.02),
      x: () => near.X(at.pump.x_m + at.pump.width_m / 2) });
  }
  if (parts.pit === "assumed") {
    const low = -0.97 * scene.pit.depth_m;
    levels.push({ text: names.pit.toLowerCase(), key: "pit", y: near.Y(low), x: () => near.X(halfAt(scene.pit, low)) });
  }
  labels(parent, levels, { x: pitFrame.right + 22, side: "gutter", low: frame.top + 44, high: frame.bottom - 14, gap: 21,
      name: "levels" });
  svg("text", { class: "label strong", x: pitFrame.right + 22, y: frame.top + 20,
    text: "The pit, enlarged" }, parent);
  svg("text", { class: "label soft", x: pitFrame.right + 22, y: frame.top + 37,
    text: "down from the floor" }, parent);
  scaleBar(parent, scene, pitFrame.left + 12, pitFrame.bottom - 14, near.scale);
  svg("rect", { x: frame.left, y: frame.top, width: frame.right - frame.left,
    height: frame.bottom - frame.top, class: "frame", rx: 6 }, parent);
  const tag = svg("g", { class: "tag" }, parent);
  svg("rect", { x: 0, y: -19, width: 102, height: 38, rx: 5 }, tag);
  const pointer = svg("path", {}, tag);
  const deep = svg("text", { class: "label strong", x: 51, y: -3, "text-anchor": "middle" }, tag);
  const place = svg("text", { class: "label soft", x: 51, y: 13, "text-anchor": "middle" }, tag);

  const rainOver = { left: house.left, right: X(at.outer_m), top: house.top, low: Y(scene.ground_m) };
  return (state, turn, speak) => {
    first.show(state, turn);
    second.show(state, turn);
    drops.setAttribute("d", rainPath(rainOver, state.rain, turn));
    const y = near.Y(state.level), ty = clamp(y, frame.top + 24, frame.bottom - 44);
    const edge = near.X(-halfAt(scene.pit, Math.min(state.level, 0)));
    tag.setAttribute("transform", `translate(${frame.left + 6} ${ty})`);
    pointer.setAttribute("d", `M102 -6L${edge - frame.left - 7} ${y - ty}L102 6`);
    if (!speak) return;
    const { value, where } = words.place(state.level);
    deep.textContent = value || "water";
    place.textContent = where;
  };
}

// A number from 0 to 1 that looks random and is the same for the same drop.
function scatter(k) {
  const value = Math.sin(k * 12.9898 + 4.1) * 43758.5453;
  return value - Math.floor(value);
}

// Drops of rain: more, longer and faster as it rains harder.
function rainPath({ left, right, top, low }, mmh, turn) {
  if (mmh <= 0) return "";
  const count = Math.round(clamp(8 + 1.8 * mmh, 8, 150)), long = clamp(7 + 0.22 * mmh, 7, 26);
  const speed = 170 + 5 * Math.min(mmh, 80), tall = low - top + long;
  let path = "";
  for (let k = 0; k < count; k++) {
    const x = left + scatter(k) * (right - left - 4);
    const pace = speed * (0.85 + 0.3 * scatter(k + 0.3)); // no two fall alike
    const y = top - long + ((scatter(k + 0.6) + turn * pace / tall) % 1) * tall;
    path += `M${x.toFixed(1)} ${y.toFixed(1)}l-1.5 ${Math.min(long, low - y).toFixed(1)}`;
  }
  return path;
}
