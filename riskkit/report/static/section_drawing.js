// The moving section, first part: drawing. Plain JavaScript, no build step: `section.py` puts the parts
// one after the other, and together they are one module.
//
// Where every part stands comes with the section, worked out in Python for this and the still section:
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
  roof: () => ({ fill: "#b9a596", ...EDGE }), gutter: () => ({ fill: "#dfe5e8", ...EDGE }), person: () => ({ fill: "#c3ccd1" }),
  "second-pump": () => ({ fill: "#f4f4f2", ...EDGE }), battery: () => ({ fill: "#dfe5e8", ...EDGE }),
  generator: () => ({ fill: "#dfe5e8", ...EDGE }), "floor-drain": () => ({ fill: "#fff", ...EDGE }),
};
const LINES = {
  grass: { stroke: "#5d6b3a", "stroke-width": 3 }, liner: { stroke: INK, "stroke-width": 2 },
  "water-table": { stroke: WATER, "stroke-width": 1.5 }, "joint-line": { stroke: INK, "stroke-width": 2.5 },
  cord: { stroke: "#5d6e78", "stroke-width": 1 }, supply: { stroke: WATER, "stroke-width": 2 },
  shelf: { stroke: INK, "stroke-width": 1.5 }, grate: { stroke: INK, "stroke-width": 2.5, "stroke-dasharray": "3 2" },
};
const dashed = (state, dash = "5 4") => (state === "assumed" ? { "stroke-dasharray": dash } : {});

// Draw the section into `parent` as seen through a view {left, right, top, bottom, X, Y, scale}, and
// return what moves.
function drawSection(parent, section, view, id) {
  const { scale: s, left, right, top, bottom } = view;
  const { pit, slab_m: slab, gravel_m: gravel, switch: sw, geometry: at, parts } = section;
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
    "wet-soil": () => {
      const { wall_m: wall, high_m: ground, edge: [toe, brow] } = at.beside;
      moving.soil = shape([[wall, ground], brow, toe, [wall, toe[1]]], { class: "wet-soil", fill: "#5f4f33", "fill-opacity": 0 });
    },
    "roof-water": () => {
      const way = [...at.house.roof_way, ...at.house.downspout];
      moving.roof = line(way, { class: "roof-water", stroke: WATER, "stroke-width": 2.6, "stroke-dasharray": "7 6" });
    },
    arrows: () => {
      const turned = { soak: 90, drain: 0 };
      moving.arrows = Object.fromEntries(Object.entries(at.house.arrows).map(([name, places]) => [name, places.map(([x, y]) => {
        const arrow = svg("g", { class: `moves ${name}`, transform: `translate(${X(x)} ${Y(y)}) rotate(${turned[name]})` }, g);
        for (const [stroke, wide] of [["#fff", 5], [WATER, 2.2]])
          svg("path", { d: "M-8 0H7M2 -4.5L7 0L2 4.5", fill: "none", stroke, "stroke-width": wide, "stroke-linecap": "round" }, arrow);
        return arrow;
      })]));
    },
    "joint-water": () => {
      const [, , [x, y]] = at.beside.joint;
      moving.joint = [line(at.beside.joint, { class: "joint", stroke: WATER, "stroke-width": 3.5 }),
        shape([[x, y], [x + 0.3, y], [x, y + 0.035]], { class: "joint-water", fill: WATER })];
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
  const bore = clamp(0.05 * s, 3, 14);
  const drawBreak = ([mx, my]) => {
    const x = X(mx), y = Y(my), h = bore / 2 + 5;
    svg("path", { class: "break", fill: "#fff", d: `M${x - 3} ${y + h}l5 ${-2 * h}h7l-5 ${2 * h}z` }, g);
    svg("path", { fill: "none", ...EDGE, d: `M${x - 3} ${y + h}l5 ${-2 * h}m7 0l-5 ${2 * h}` }, g);
  };
  const drawPipe = () => {
    const { inside, outside, spout, arrow, break: gap } = at.pipe;
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
    if (gap) drawBreak(gap);
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
    if (at.second_float) { // the second pump stands still in every picture, its float rides
      const { x_m: x, rod, radius_m: r } = at.second_float, soft = dashed(parts.second_on, "2.5 2");
      line(rod, { "stroke-width": 1.3, ...soft });
      moving.second = svg("circle", { class: "second-float", r: r * s, cx: X(x), fill: "#F0E442", ...EDGE, ...soft }, g);
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
    } else if (paint === "person-head") {
      svg("circle", { class: "person", cx: X(list[0][0]), cy: Y(list[0][1]), r: 0.08 * at.house.person.high_m * s, fill: "#c3ccd1" }, g);
    } else if (paint === "downspout" || paint === "second-pipe") {
      const [wide, colour] = paint === "downspout" ? [clamp(0.07 * s, 2.5, 9), "#e6ebed"] : [bore, "#fff"];
      line(list, { class: paint, "stroke-width": wide + 2, "stroke-linejoin": "round", ...dash });
      line(list, { stroke: colour, "stroke-width": wide, "stroke-linejoin": "round" });
    } else if (paint === "broken-off") {
      drawBreak(list[0]);
    } else if (paint === "cross") {
      drawCross(X(list[0][0]), Y(list[0][1]), clamp(0.06 * s, 5, 12), `broken ${part}`);
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
    moving.soil.setAttribute("fill-opacity", (0.42 * state.soaked).toFixed(3));
    seen(moving.roof, state.rain > 0);
    moving.roof.setAttribute("stroke-dashoffset", -((turn * 40) % 13));
    for (const arrow of moving.arrows.soak) seen(arrow, state.rain > 0);
    for (const arrow of moving.arrows.drain) seen(arrow, state.comes);
    size(moving.floor, Math.max(0, level), 0);
    const a = level > 0 ? null : halfAt(pit, up);
    moving.surface.setAttribute("points", a === null ? points([[X(inner), Y(level)], [X(xr), Y(level)]])
      : points([[X(-a), Y(up)], [X(a), Y(up)]]));
    if (moving.bob) {
      moving.bob.setAttribute("cy", Y(clamp(level, at.alarm.low_m, at.alarm.high_m)));
      moving.bob.setAttribute("fill", state.alarm ? ALARM : "#fff");
    }
    seen(moving.sound, state.alarm);
    moving.second?.setAttribute("cy", Y(clamp(level, at.second_float.low_m, at.second_float.high_m)));
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
