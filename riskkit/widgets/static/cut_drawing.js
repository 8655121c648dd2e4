// The moving cut, first part: drawing. Plain JavaScript, no build step: `cut.py` puts this file
// before cut.js, and the two are one module.
//
// Metres are relative to the basement floor, x = 0 in the middle of the pit. All text is set in
// pixels, whatever the scale of the drawing. Colours are Okabe and Ito's; each also has a shape.

const SVG = "http://www.w3.org/2000/svg";
const WATER = "#0072B2", RAIN = "#2B8CC4", ALARM = "#D55E00", INK = "#1d2b33";
const EARTH = "#e3d9c8", FILL = "#efe8dc", CONCRETE = "#cfd2d1", ROOM = "#fcfbf8";
const WALL_M = 0.25, BESIDE_M = 0.5, DRAIN_M = 0.1;

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

// Height of the ground water left of the foundation drain: drawn down to it where it stands higher,
// over three metres, as a flow to a drain is (the square of the height grows with the distance).
function tableOf(scene) {
  if (scene.water_table_m === null || scene.water_table_m === undefined) return null;
  const far = Math.min(scene.water_table_m, scene.ground_m), low = Math.min(scene.drain_m, far);
  const drain = -scene.pit.width_m / 2 - BESIDE_M - WALL_M - 0.24;
  return (x) => low + (far - low) * Math.sqrt(clamp((drain - x) / 3, 0, 1));
}

// Draw the cut into `parent` as seen through a view {left, right, top, bottom, X, Y, scale}, and
// return what moves.
function drawCut(parent, scene, view, id) {
  const { X, Y, scale: s, left, right, top, bottom } = view;
  const { pit, slab_m: slab, gravel_m: gravel, drain_m: drain, ground_m: ground } = scene;
  const half = pit.width_m / 2, inner = -half - BESIDE_M, outer = inner - WALL_M;
  const depth = pit.depth_m, sw = scene.switch;
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
  const xl = (left - X(0)) / s - 1, xr = (right - X(0)) / s + 1;
  const yt = (Y(0) - top) / s + 1, yb = (Y(0) - bottom) / s - 1;

  // sky, room and ground
  const sky = box(xl, yt, outer + 0.03, ground, { fill: "#eef4f8" });
  box(inner, yt, xr, 0, { fill: ROOM });
  box(xl, ground, outer, yb, { fill: fill("earth") });
  box(outer - 0.1, -slab, xr, yb, { fill: fill("earth") });
  const dug = Math.min(0.9, 0.35 + 0.35 * ground);
  shape([[outer, ground], [outer - dug, ground], [outer - 0.42, Math.min(drain, -slab) - 0.05],
    [outer, Math.min(drain, -slab) - 0.05]], { fill: fill("fill") });

  // ground water, drawn down to the foundation drain where it stands higher
  const table = tableOf(scene), dx = outer - 0.24;
  if (table) {
    const curve = [];
    for (let x = xl; x < dx; x += 0.05) curve.push([x, table(x)]);
    curve.push([dx, table(dx)], [xr, table(dx)]);
    const under = [...curve, [xr, yb], [xl, yb]];
    shape(under, { fill: WATER, "fill-opacity": 0.1 });
    shape(under, { fill: fill("ground-water"), opacity: 0.25 });
    line(curve, { stroke: WATER, "stroke-width": 1.5, "stroke-dasharray": "7 4" });
    const tx = outer - 0.5, ty = Y(table(tx));
    svg("path", { d: `M${X(tx)} ${ty - 1}l-6 -10h12z`, fill: "#fff", stroke: WATER, "stroke-width": 1.4 }, g);
  }

  // gravel, footing, wall, floor slab
  box(inner, -slab, xr, -slab - gravel, { fill: fill("gravel") });
  const gravelWater = box(inner, -slab, xr, -slab, { fill: WATER, "fill-opacity": 0.45 });
  const concrete = { fill: fill("concrete"), stroke: INK, "stroke-width": 1.1 };
  box(outer - 0.12, -slab, inner + 0.12, -slab - 0.2, concrete);
  box(outer, Math.max(ground + 0.2, 0.4), inner, -slab, concrete);
  box(outer + 0.03, yt, inner, Math.max(ground + 0.2, 0.4), { fill: "#f0e6d6", stroke: INK,
    "stroke-width": 1.1 });
  box(inner, 0, xr, -slab, concrete);
  line([[xl, ground], [outer, ground]], { stroke: "#5d6b3a", "stroke-width": 3 });

  // foundation drain and its way to the pit
  const reach = halfAt(pit, drain + DRAIN_M / 2);
  box(dx, drain + DRAIN_M, -reach, drain, { fill: "#fff", stroke: INK, "stroke-width": 1 });
  svg("circle", { cx: X(dx), cy: Y(drain + DRAIN_M / 2), r: DRAIN_M / 2 * s, fill: "#fff",
    stroke: INK, "stroke-width": 1.4, "stroke-dasharray": "3 1.6" }, g);
  const drainWater = box(dx, drain, -reach, drain, { fill: WATER, "fill-opacity": 0.75 });

  // pit and the water in it
  const liner = [[-half, 0], [-pit.bottom_width_m / 2, -depth], [pit.bottom_width_m / 2, -depth],
    [half, 0]];
  shape(liner, { fill: "#fff" });
  const range = shape([], { fill: WATER, "fill-opacity": 0.35 });
  const water = shape([], { fill: WATER, "fill-opacity": 0.7 });
  const floor = box(inner, 0, xr, 0, { class: "floor-water", fill: WATER, "fill-opacity": 0.7 });
  const surface = line([], { stroke: "#003f66", "stroke-width": 2 });

  // discharge pipe
  const ph = Math.min(0.3, 0.55 * depth, depth + sw.off_m + 0.12), base = -depth + 0.03;
  const pw = Math.min(0.22, pit.bottom_width_m * 0.5);
  const px = -pit.bottom_width_m / 2 + pw / 2 + 0.05 * pit.bottom_width_m;
  const out = outer - 0.22, pipeTop = scene.outlet_m;
  const way = [[px, base + ph], [px, pipeTop]];
  const above = pipeTop > ground + 0.2;
  if (above) way.push([out, pipeTop], [out, ground + 0.14], [out - 0.4, ground + 0.07]);
  else way.push([xl, pipeTop]);
  const bore = clamp(0.05 * s, 3, 14), joined = { "stroke-linejoin": "round" };
  line(way, { stroke: INK, "stroke-width": bore + 2.4, ...joined });
  line(way, { stroke: "#fff", "stroke-width": bore, ...joined });
  const flow = line(way, { class: "flow", stroke: WATER, "stroke-width": bore, "stroke-opacity": 0.55, ...joined });
  const pulse = line(way, { stroke: "#fff", "stroke-width": Math.max(1.5, bore / 3),
    "stroke-dasharray": "5 15", ...joined });
  const splash = svg("path", { stroke: WATER, "stroke-width": 2.2, fill: "none", d: !above ? "" :
    [0, 1, 2].map((k) => `M${X(out - 0.42)} ${Y(ground + 0.08) + 2 * k - 2}q-9 ${k} ${-14 - 3 * k} `
      + `${0.06 * s + k}`).join("") }, g);

  // pump, with a wheel that turns and a cross when it does not work
  const body = box(px - pw / 2, base + ph, px + pw / 2, base, { rx: 4, fill: "#f4f4f2", stroke: INK,
    "stroke-width": 1.6 });
  const wheel = svg("g", { transform: `translate(${X(px)} ${Y(base + ph * 0.42)})` }, g);
  const wr = Math.min(pw, ph) * 0.34 * s;
  svg("circle", { r: wr, fill: "#fff", stroke: INK, "stroke-width": 1.2 }, wheel);
  const blades = svg("path", { stroke: INK, "stroke-width": Math.max(1.2, wr / 5),
    d: [0, 1, 2].map((k) => `M0 0L${wr * 0.85 * Math.cos(k * 2.094)} `
      + `${wr * 0.85 * Math.sin(k * 2.094)}`).join("") }, wheel);
  const cw = pw * 0.46 * s, ch = ph * 0.46 * s, cross = svg("path", { class: "cross", stroke: ALARM,
    "stroke-width": clamp(cw / 8, 2.5, 5), "stroke-linecap": "round",
    d: `M${X(px) - cw} ${Y(base + ph / 2) - ch}l${2 * cw} ${2 * ch}m0 ${-2 * ch}l${-2 * cw} ${2 * ch}` }, g);

  // floats: one starts and stops the pump, a smaller one on a rod calls the alarm
  const r = Math.min(0.055, pit.width_m * 0.1, (sw.on_m - sw.off_m) * 0.6) * s, rest = sw.off_m;
  const fx = px + pw / 2 + (halfAt(pit, rest) - px - pw / 2) * 0.34;
  const ax = halfAt(pit, rest) * 0.72, ar = Math.min(r * 0.7, -sw.alarm_m * 0.45 * s);
  const tether = svg("line", { stroke: INK, "stroke-width": 1.2, x1: X(px), y1: Y((sw.on_m + rest) / 2) }, g);
  const float = svg("ellipse", { rx: r, ry: r * 0.8, fill: "#F0E442", stroke: INK,
    "stroke-width": 1.3 }, g);
  line([[ax, 0.02], [ax, sw.alarm_m - 0.07]], { "stroke-width": 1.3 });
  const bob = svg("circle", { r: ar, cx: X(ax), fill: "#fff", stroke: ALARM, "stroke-width": 2 }, g);
  line(liner, { "stroke-width": 2 });

  // alarm on the wall
  const hx = inner + 0.02 + 7 / s, hy = 1.45;
  line([[ax, 0.02], [half + 0.12, 0.02], [half + 0.12, hy], [inner, hy]], { stroke: "#9aa3a7",
    "stroke-width": 1, "stroke-dasharray": "2 2" });
  const bell = svg("g", { transform: `translate(${X(hx)} ${Y(hy)})` }, g);
  svg("path", { d: "M-7 6c3 -2 2 -5 3 -8a4 4 0 0 1 8 0c1 3 0 6 3 8zM-2.5 8.5h5", fill: "#fff",
    stroke: INK, "stroke-width": 1.4 }, bell);
  const sound = svg("path", { class: "sound", d: "M12 -5a8 8 0 0 1 0 11M17 -8a13 13 0 0 1 0 17M22 -11a18 18 0 0 1 0 23",
    fill: "none", stroke: ALARM, "stroke-width": 2.4, "stroke-linecap": "round" }, bell);

  const size = (rect, high, low) => {
    rect.setAttribute("y", Y(high));
    rect.setAttribute("height", Math.max(0, Y(low) - Y(high)));
  };
  const filled = (level, from) => {
    const at = clamp(level, -depth, 0), low = clamp(from, -depth, 0);
    const a = halfAt(pit, at), b = halfAt(pit, low);
    return points([[X(-a), Y(at)], [X(-b), Y(low)], [X(b), Y(low)], [X(a), Y(at)]]);
  };
  const seen = (what, yes) => what.setAttribute("visibility", yes ? "visible" : "hidden");
  const show = (state, turn) => {
    const { level } = state, at = clamp(level, -depth, 0);
    const grey = 93 - clamp(state.rain / 4, 2, 14);
    sky.setAttribute("fill", state.rain > 0 ? `hsl(205 22% ${grey}%)` : "#eef4f8");
    water.setAttribute("points", filled(state.low, -depth));
    range.setAttribute("points", filled(state.high, state.low));
    size(gravelWater, clamp(level, -slab - gravel, -slab), -slab - gravel);
    size(drainWater, clamp(level, drain, drain + DRAIN_M), drain);
    size(floor, Math.max(0, level), 0);
    const a = level > 0 ? null : halfAt(pit, at);
    surface.setAttribute("points", a === null ? points([[X(inner), Y(level)], [X(xr), Y(level)]])
      : points([[X(-a), Y(at)], [X(a), Y(at)]]));
    const rides = clamp(level, rest, sw.on_m + 0.03);
    float.setAttribute("transform", `translate(${X(fx)} ${Y(rides)})`);
    tether.setAttribute("x2", X(fx)); tether.setAttribute("y2", Y(rides));
    bob.setAttribute("cy", Y(clamp(level, sw.alarm_m - 0.05, sw.alarm_m)));
    bob.setAttribute("fill", state.alarm ? ALARM : "#fff");
    const works = state.pump === "running" || state.pump === "cycling";
    body.setAttribute("fill", works ? "#bfe5d8" : "#f4f4f2");
    body.setAttribute("stroke", works ? "#00674c" : INK);
    for (const moving of [flow, pulse, splash]) seen(moving, works);
    seen(cross, state.pump === "stopped");
    seen(sound, state.alarm);
    if (works) {
      blades.setAttribute("transform", `rotate(${(turn * 300) % 360})`);
      pulse.setAttribute("stroke-dashoffset", -((turn * 60) % 20));
    }
  };
  return { show, g, inner, outer, px, dx, table, half, bell: hx, bellHeight: hy };
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
  const cx = Math.min(frame.left + 0.36 * wide + (half + BESIDE_M + WALL_M) * scale,
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
  const sw = scene.switch, below = (m) => words.length(-m);
  const marks = [["floor", 0], [`alarm, ${below(sw.alarm_m)}`, sw.alarm_m, "alarm"],
    [`pump starts, ${below(sw.on_m)}`, sw.on_m, "on"],
    [`pump stops, ${below(sw.off_m)}`, sw.off_m, "off"],
    [`bottom, ${below(-scene.pit.depth_m)}`, -scene.pit.depth_m]];
  const gutter = 36 + Math.max(124, ...marks.map(([text]) => textWidth(parent, text)));
  const frame = stacked ? { left: 1, right: width - 1, top: half + 6, bottom: height - 1 }
    : { left: split + 14, right: width - 1, top: 1, bottom: height - 1 };
  const pitFrame = { ...frame, right: frame.right - gutter };

  const far = houseView(scene, house, id), near = pitView(scene, pitFrame, highest, id);
  const first = drawCut(parent, scene, far, `${id}-house`);
  const drops = svg("path", { stroke: RAIN, "stroke-width": 1.6, "stroke-linecap": "round",
    class: "rain" }, first.g);
  const { X, Y } = far;

  // what is enlarged
  const a = { x: X(-first.half) - 6, y: Y(0) - 10 }, b = { x: X(first.half) + 6, y: house.bottom - 2 };
  svg("rect", { x: a.x, y: a.y, width: b.x - a.x, height: b.y - a.y, class: "lens", rx: 4 }, parent);
  const roomy = b.x + 80 < house.right;
  svg("text", { class: "label soft", x: roomy ? b.x + 6 : a.x - 6, y: b.y - 6, text: "enlarged",
    "text-anchor": roomy ? "start" : "end" }, parent);

  // targets right of the pit where there is room before the labels, else between wall and pit
  const beside = (right, left) => (knee) => (X(first.half) + right < knee - 6 ? X(first.half) + right
    : X(first.inner) + left);
  const room = [{ text: "Discharge pipe", x: () => X(first.px) + 4, y: Y(scene.outlet_m * 0.82) },
    { text: "Alarm", x: () => X(first.bell) + 9, y: Y(first.bellHeight) },
    { text: "Basement floor", x: beside(26, 0.16 * far.scale), y: Y(0) }];
  if (scene.gravel_m > 0.01) {
    room.push({ text: "Gravel under the slab", x: beside(16, 0.3 * far.scale),
      y: Y(-scene.slab_m - scene.gravel_m / 2) });
  }
  labels(parent, room, { x: house.right - 10, side: "right", low: house.top + 38, high: Math.max(Y(Math.max(0, highest)) - 24,
    house.top + 110),
    gap: 20, name: "room" });
  const yardX = (knee) => Math.max(knee + 6, house.left + 146);
  const yard = [{ text: "Ground outside", x: yardX, y: Y(scene.ground_m), dy: 13 },
    { text: "Foundation drain", x: () => X(first.dx) - DRAIN_M / 2 * far.scale,
      y: Y(scene.drain_m + DRAIN_M / 2) }];
  const table = first.table?.((house.left + 60 - X(0)) / far.scale);
  if (first.table && Y(table) < house.bottom - 16) {
    yard.push({ text: "Ground water", x: yardX, y: Y(table), dy: -12 });
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
  for (const [, m, key] of marks) {
    if (!key) continue;
    const reach = halfAt(scene.pit, m);
    svg("line", { class: `mark ${key}`, x1: near.X(-reach), x2: near.X(reach), y1: near.Y(m),
      y2: near.Y(m) }, second.g);
  }
  labels(parent, marks.map(([text, m, key]) => ({ text, key, y: near.Y(m),
    x: () => near.X(halfAt(scene.pit, m)) })), { x: pitFrame.right + 22, side: "gutter", low: frame.top + 44, high: frame.bottom - 14, gap: 21,
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

  const rainOver = { left: house.left, right: X(first.outer), top: house.top, low: Y(scene.ground_m) };
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
