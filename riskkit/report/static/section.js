// The moving section, last part: one home in one storm, played, paused and dragged.
//
//   section (measures) ──> picture: the house, and the pit enlarged       on a new section, animation, size
//   animation (one storm) ─> readAt(moment) ──> show(state)                 any number of times
//
// The data come once; nothing here asks the kernel or the network for anything.

let instances = 0;

// ---- words -------------------------------------------------------------------------------------

function wordsOf(section) {
  const [small, perSmall] = section.show.length, [large, perLarge] = section.show.distance;
  const [rainUnit, perRain] = section.show.rain;
  const us = section.units === "us";
  const length = (m) => {
    if (Math.abs(m) >= 1) {
      if (!us) return `${(m * perLarge).toFixed(2)} ${large}`;
      const inches = Math.round(m * perSmall), feet = Math.floor(inches / 12);
      return inches % 12 ? `${feet} ft ${inches % 12} in` : `${feet} ft`;
    }
    const value = m * perSmall;
    return `${us && value < 2.95 ? value.toFixed(1) : Math.round(value)} ${small}`;
  };
  const place = (m) => {
    const value = length(Math.abs(m));
    if (parseFloat(value) === 0) return { value: "", where: "at the floor" };
    return { value, where: m < 0 ? "below the floor" : "on the floor" };
  };
  const water = (m) => `${place(m).value} ${place(m).where}`.trim();
  const outside = (m) => (m > 0 ? water(m).replace("on the floor", "above floor") : water(m));
  const rain = (mmh) => (mmh <= 0 ? "none"
    : `${(mmh * perRain).toFixed(us ? (mmh < 2.5 ? 2 : 1) : mmh < 10 ? 1 : 0)} ${rainUnit}`);
  return { length, place, water, outside, rain };
}

function clock(seconds) {
  const minutes = Math.floor(seconds / 60 + 1e-6);
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}

function lasting(seconds) {
  const minutes = Math.round(seconds / 60);
  return minutes < 90 ? `${minutes} min` : clock(minutes * 60);
}

const PUMP_WORDS = {
  none: "none", waiting: "ready, not running", running: "running", cycling: "running on and off",
  stopped: "not working", order: "in order",
};

// What the alarm does: only one that is there, and can be counted on, sounds or is silent.
const QUIET = { none: "none", failed: "gives no warning" };

function alarmWords(state, section) {
  return QUIET[section.parts.alarm] ?? (state.alarm ? "sounding" : "silent");
}

// From when the time to the floor is counted.
function clockOf(animation, section) {
  if (!(section.parts.alarm in QUIET)) return ["Since the alarm", animation.alarm_s];
  if (section.parts.pump === "none") return ["Since the rain began", animation.time_s[0]];
  const who = section.parts.second_pump in QUIET ? "the pump" : "both pumps";
  return [`Since ${who} stopped`, animation.stopped_at_s];
}

function sentenceOf(state, words, section) {
  return `${clock(state.time)} into the storm. Rain: ${words.rain(state.rain)}. Water: `
    + `${words.water(state.level)}. Pump: ${PUMP_WORDS[state.pump]}. `
    + `Alarm: ${alarmWords(state, section)}.${outsideWords(state, words, " Outside the wall: ", ".")}`;
}

// How high the water stands beside the footing, where the animation knows it.
function outsideWords(state, words, before = "", after = "") {
  if (state.beside === null) return "";
  return `${before}${words.outside(state.beside)}${state.joint ? ", seeping in" : ""}${after}`;
}

// ---- the widget -----------------------------------------------------------------------------------

const READINGS = [["time", "Time in the storm"], ["rain", "Rain"], ["water", "Water"],
  ["outside", "Outside the wall"],
  ["pump", "Pump"], ["alarm", "Alarm"], ["since", "Since the alarm"]];

function skeleton(el, id) {
  const root = html("div", { class: "moving-section", role: "group", "aria-labelledby": `${id}-title`,
    "data-lm-suppress-shortcuts": "true" }, el);
  const part = { root };
  part.title = html("p", { class: "title", id: `${id}-title` }, root);
  const list = html("dl", { class: "readings" }, root);
  for (const [key, words] of READINGS) {
    const pair = html("div", { class: `reading ${key}` }, list);
    part[`${key}Name`] = html("dt", { text: words }, pair);
    part[key] = html("dd", { "data-reading": key }, pair);
  }
  part.picture = svg("svg", { class: "picture", role: "img" }, root);
  part.slider = html("div", { class: "slider", role: "slider", tabindex: 0,
    "aria-label": "Time in the storm" }, root);
  part.line = svg("svg", { "aria-hidden": "true" }, part.slider);
  const bar = html("div", { class: "controls" }, root);
  part.play = html("button", { type: "button", class: "play" }, bar);
  part.next = html("button", { type: "button", class: "next", text: "Go on ›" }, bar);
  const label = html("label", { text: "Speed " }, bar);
  part.speed = html("select", {}, label);
  for (const [value, text] of [["auto", "slower where it matters"], ["60", "1 second = 1 minute"],
    ["300", "1 second = 5 minutes"], ["1200", "1 second = 20 minutes"]]) {
    html("option", { value, text }, part.speed);
  }
  part.near = html("button", { type: "button", class: "near" }, bar);
  part.jumps = html("div", { class: "jumps", role: "group", "aria-label": "Go to" }, root);
  part.say = html("p", { class: "say" }, root);
  part.sentence = html("p", { class: "sentence" }, root);
  part.live = html("div", { class: "hidden", role: "status", "aria-live": "polite" }, root);
  return part;
}

function render({ model, el }) {
  const id = `moving-section-${++instances}-${Math.random().toString(36).slice(2, 7)}`;
  const part = skeleton(el, id), { root } = part;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let section, animation, words, pace, events, steps = [], stepAt = -1, picture = null, line = null;
  let moment = model.get("moment_s"), playing = false, frame = 0, before = 0, spoken = 0;
  let seen = 0, high = 0; // width of the whole and height of the picture as last drawn
  let near = false; // the time line shows the hours that matter alone
  let turn = 40; // seconds of falling rain and turning wheel: well mixed from the start

  const begin = () => animation.time_s[0], end = () => animation.time_s.at(-1);
  const rate = () => {
    if (part.speed.value !== "auto") return Number(part.speed.value);
    const [from, to, seconds] = pace.find(([, until]) => moment < until) ?? pace.at(-1);
    return (to - from) / seconds;
  };

  const tell = (state) => {
    part.time.textContent = clock(state.time);
    part.rain.textContent = words.rain(state.rain);
    part.water.textContent = words.water(state.level);
    part.outside.textContent = outsideWords(state, words);
    part.pump.textContent = PUMP_WORDS[state.pump];
    part.alarm.textContent = alarmWords(state, section);
    const [sinceWords, from] = clockOf(animation, section);
    part.sinceName.textContent = sinceWords;
    const since = from === null ? -1 : moment - from;
    part.since.textContent = since >= 0 ? lasting(since) : "–";
    part.slider.setAttribute("aria-valuenow", Math.round(moment));
    part.slider.setAttribute("aria-valuetext", sentenceOf(state, words, section));
  };
  const show = () => {
    if (!picture) return;
    const state = readAt(animation, section, moment, playing ? 0.6 * rate() : 0);
    const now = performance.now(), speak = !playing || now - spoken >= 250; // words one can read
    picture(state, turn, speak);
    if (near && (moment < line.begin - 1 || moment > line.end + 1)) { // it leaves what is shown
      near = false;
      stretch();
    }
    line.show(moment);
    Object.assign(root.dataset, { moment: Math.round(moment), pump: state.pump,
      alarm: state.alarm ? "sounding" : "silent", floor: state.wet ? "wet" : "dry",
      joint: state.joint ? "wet" : "dry", beside: state.beside === null ? "" : state.beside.toFixed(4),
      level: state.level.toFixed(4), playing: playing ? "yes" : "no" });
    if (!speak) return;
    spoken = now;
    tell(state);
    if (playing) return;
    part.picture.setAttribute("aria-label", `${part.title.textContent}. ${sentenceOf(state, words, section)}`);
  };
  const keep = () => {
    model.set("moment_s", moment);
    model.save_changes();
  };
  const seek = (to) => {
    moment = clamp(to, begin(), end());
    show();
  };

  const setPlaying = (yes) => {
    playing = yes;
    cancelAnimationFrame(frame);
    part.play.textContent = yes ? "❚❚ Pause" : "▶ Play";
    if (yes) {
      if (moment >= end() - 1) moment = begin();
      before = performance.now();
      frame = requestAnimationFrame(step);
    } else keep();
    show();
  };
  const step = (now) => {
    frame = requestAnimationFrame(step);
    const passed = (now - before) / 1000;
    if (calm.matches && passed < 1) return; // still pictures, one a second
    before = now;
    if (!calm.matches) turn += Math.min(passed, 0.1);
    const last = moment;
    moment = Math.min(moment + Math.min(passed, 2) * rate(), end());
    const met = events.filter(({ at }) => at > last && at <= moment);
    if (met.length) part.live.textContent = met.map((e) => `${e.words}, ${clock(e.at)}.`).join(" ");
    if (moment >= end()) {
      setPlaying(false);
      part.live.textContent = `End of the storm. ${sentenceOf(readAt(animation, section, moment, 0), words, section)}`;
    } else show();
  };

  const stretch = () => {
    const close = near ? closeOf(animation) : null;
    line = drawTimeLine(part.line, animation, section, words, Math.floor(part.slider.clientWidth), close);
    part.near.hidden = !closeOf(animation);
    part.near.setAttribute("aria-pressed", String(Boolean(close)));
    part.near.textContent = `Zoom: ${animation.alarm_s === null ? "stop" : "alarm"} to ${animation.flood_s === null ? "end" : "floor"}`;
    root.dataset.stretch = close ? "close" : "whole";
  };
  const heightFor = (width) => {
    const other = root.scrollHeight - part.picture.clientHeight; // more than its own height where the column presses it together
    if (root.closest(".rk-owner")) return Math.max(240, Math.floor(window.innerHeight - root.getBoundingClientRect().top - other - 2));
    if (isNarrow(width, section)) return width < 600 ? 760 : 680;
    const room = Math.max(300, window.innerHeight - other - 24);
    return Math.round(clamp(width * 0.46, 320, Math.min(560, room)));
  };
  const redraw = () => {
    const width = Math.floor(part.slider.clientWidth);
    if (!section || !animation || width < 50) return;
    high = heightFor(width);
    picture = drawPicture(part.picture, section, words, Math.max(...animation.level_m), width, high, id);
    stretch();
    show();
  };
  const take = () => {
    const full = (data) => (data && Object.keys(data).length ? data : null);
    section = full(model.get("section"));
    animation = full(model.get("animation"));
    stepAt = Math.min(stepAt, (animation?.steps.length ?? 0) - 1);
    root.classList.toggle("empty", !section || !animation);
    root.classList.toggle("inside-only", !animation?.beside_m);
    part.title.textContent = animation?.title ?? "The picture is drawn once the whole answer is there.";
    part.sentence.textContent = animation?.sentence ?? "";
    part.jumps.replaceChildren();
    if (!section || !animation) {
      picture = null;
      setPlaying(false);
      return;
    }
    if (section.labels?.name) part.title.textContent = `${section.labels.name}: ${animation.title}`;
    words = wordsOf(section);
    pace = paceOf(animation);
    events = eventsOf(animation);
    steps = animation.steps.map((step, k) => {
      const button = html("button", { type: "button", "data-step": step.key }, part.jumps);
      html("span", { text: `${k + 1} ${step.title}` }, button);
      html("small", { text: step.at_s === null ? "if done" : clock(step.at_s) }, button);
      button.addEventListener("click", () => go(k));
      return { ...step, button };
    });
    animation.soaked = soakedOf(animation);
    part.slider.setAttribute("aria-valuemin", Math.round(begin()));
    part.slider.setAttribute("aria-valuemax", Math.round(end()));
    moment = clamp(moment, begin(), end());
    mark();
    redraw();
  };

  part.play.addEventListener("click", () => animation && setPlaying(!playing));
  part.speed.addEventListener("change", show);
  root.addEventListener("keydown", (event) => {
    if (!animation || event.target === part.speed || event.ctrlKey || event.metaKey || event.altKey) return;
    const short = Math.max(60, Math.round((end() - begin()) / 300 / 60) * 60);
    const moves = { ArrowRight: short, ArrowUp: short, ArrowLeft: -short, ArrowDown: -short,
      PageUp: 10 * short, PageDown: -10 * short, Home: -Infinity, End: Infinity };
    if (event.key in moves) {
      seek(moment + moves[event.key]);
      if (!playing) keep();
    } else if (event.key === " " && event.target.tagName !== "BUTTON") setPlaying(!playing);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  // Go to a step through the storm, and say what is seen there; the last one is no moment.
  const go = (k) => {
    const step = steps[k];
    if (!step) return;
    if (playing) setPlaying(false);
    stepAt = k;
    if (step.at_s !== null) { seek(step.at_s); keep(); }
    mark();
  };
  const mark = () => {
    steps.forEach(({ button }, k) => button.setAttribute("aria-current", k === stepAt ? "step" : "false"));
    part.say.textContent = steps[stepAt]?.say ?? "";
    const helps = steps[stepAt]?.key === "help";
    root.closest(".rk-page")?.classList.toggle("rk-helping", helps);
    document.dispatchEvent(new CustomEvent("rk-step", { detail: steps[stepAt]?.key }));
    part.next.disabled = stepAt >= steps.length - 1;
  };
  part.near.addEventListener("click", () => {
    if (!animation || !section) return;
    near = !near;
    stretch();
    if (near && (moment < line.begin || moment > line.end)) { seek(line.begin); keep(); }
    show();
  });
  part.next.addEventListener("click", () => go(stepAt + 1));
  const drag = (event) => seek(line.timeAt(event.clientX - part.line.getBoundingClientRect().left));
  let resume = false;
  part.slider.addEventListener("pointerdown", (event) => {
    if (!line || event.button !== 0) return;
    resume = playing;
    if (playing) setPlaying(false);
    part.slider.setPointerCapture(event.pointerId);
    drag(event);
  });
  part.slider.addEventListener("pointermove", (event) => {
    if (part.slider.hasPointerCapture(event.pointerId)) drag(event);
  });
  part.slider.addEventListener("lostpointercapture", () => {
    if (resume) setPlaying(true); else keep();
    resume = false;
  });
  const jump = () => {
    if (animation && Math.abs(model.get("moment_s") - moment) > 0.5) seek(model.get("moment_s"));
  };
  model.on("change:section", take);
  model.on("change:animation", take);
  model.on("change:moment_s", jump);
  // In the owner's view what comes later above or below the picture takes its height from the picture.
  const late = () => root.closest(".rk-owner") && part.picture.clientHeight && heightFor(root.clientWidth) !== high;
  const sized = () => {
    if (Math.abs(root.clientWidth - seen) < 1 && !late()) return;
    seen = root.clientWidth;
    redraw();
  };
  const watch = new ResizeObserver(sized);
  watch.observe(root);
  const told = new MutationObserver(sized); // the answer above has no box of its own
  const fit = () => {
    const answer = root.closest(".rk-owner")?.querySelector(".rk-answer");
    if (answer) told.observe(answer, { attributes: true, characterData: true, childList: true, subtree: true });
    else told.disconnect();
    redraw();
    requestAnimationFrame(redraw); // the second time with all else in its place
  };
  window.addEventListener("resize", fit);
  document.addEventListener("rk-owner", fit);
  part.play.textContent = "▶ Play";
  take();
  return () => {
    cancelAnimationFrame(frame);
    watch.disconnect();
    told.disconnect();
    window.removeEventListener("resize", fit);
    document.removeEventListener("rk-owner", fit);
    model.off("change:section", take);
    model.off("change:animation", take);
    model.off("change:moment_s", jump);
  };
}

export default { render };
